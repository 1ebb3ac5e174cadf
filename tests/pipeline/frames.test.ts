import { describe, expect, test } from "vitest";
import type { RunEvaluation } from "../../src/contract/evaluation.ts";
import { axes } from "../../src/foundation/tracks.ts";
import { quaternionOfVector, turnedBy } from "../../src/simulation/attitude.ts";
import type { FlightSettings } from "../../src/simulation/flightShape.ts";
import { toRecording } from "../support/toRecording.ts";
import { checksOf, evaluateFlights, shortFlight, shortManifest, shortSettings } from "./shortCampaign.ts";

const { frames } = shortSettings();
const fly = async (
  changed: Partial<FlightSettings["frames"]>,
  declared = changed,
  seed = 1,
): Promise<RunEvaluation> => {
  const manifest = shortManifest(["a.bag"], { flight: shortSettings({ frames: { ...frames, ...declared } }) });
  const { runs } = await evaluateFlights(
    { "a.bag": shortFlight(seed, { frames: { ...frames, ...changed } }) },
    manifest,
  );
  return runs[0]!;
};
const subjects = ["vehicle", "effector", "arm"] as const;
const degree = Math.PI / 180;

describe("a capture world with y up", () => {
  test.each(["z", "y"] as const)("gives the figures of one with z up, bodies defined with %s up", async (bodyUp) => {
    const usual = await fly({});
    const turned = await fly({ worldUp: "y", bodyUp });
    expect(turned.used).toBe(true);
    expect(turned.windows.cycles).toEqual(usual.windows.cycles);
    for (const subject of subjects)
      for (const axis of axes)
        for (const key of ["bias", "sd", "rms", "range"] as const) {
          const [found, known] = [turned, usual].map((run) => run.tracking.cycles![subject]![axis][key]!);
          // the same flight and the same noise in other coordinates, turned back: rounding, and the clock's search on it
          expect(Math.abs(found! - known!), `${subject} ${axis} ${key}`).toBeLessThan(1e-6);
        }
  });

  test("is turned as well where the signals declare the axes of their bodies", async () => {
    const flight = shortFlight(1, { frames: { ...frames, worldUp: "y", bodyUp: "z" } });
    const manifest = shortManifest(["a.bag"], { flight: shortSettings({ frames: { ...frames, worldUp: "y" } }) });
    const [plain, declared] = await Promise.all(
      [manifest, manifest.replaceAll(/(topic: \/mocap\/\w+)/g, "$1, axes: { body: flu }")].map(async (text) => {
        const { runs, fitted } = await evaluateFlights({ "a.bag": flight }, text);
        return { run: runs[0]!, fitted };
      }),
    );
    expect(declared!.run.used).toBe(true);
    expect(declared!.run.tracking).toEqual(plain!.run.tracking);
    expect(declared!.fitted.find(({ what }) => what.startsWith("vehicle_pose"))!.value).toContain("y up");
  });

  test("taken for z up is not scored as if nothing were wrong", async () => {
    const wrong = await fly({ worldUp: "y", bodyUp: "z" }, {});
    // 1.5 m of height land on another axis: whatever is said, it must be said
    expect(wrong.checks.some(({ severity }) => severity !== "note")).toBe(true);
  });
});

describe("the onboard world in the capture world", () => {
  const placed: FlightSettings["frames"]["onboard"] = { translation: [2, -1, 0.05], rotation: [0, 0, 30 * degree] };

  test("is applied to the setpoint: the errors are those of the same flight, seen along the capture's axes", async () => {
    const usual = await fly({});
    const surveyed = await fly({ onboard: placed });
    const { vehicle, effector, arm } = surveyed.tracking.cycles!;
    for (const [subject, figures] of [
      ["vehicle", vehicle!],
      ["effector", effector!],
    ] as const) {
      const own = usual.tracking.cycles![subject]!;
      // capture noise of 0.2 mm is drawn along other axes: 5 x 0.2 mm / root 905
      expect(Math.abs(figures.norm.rms - own.norm.rms)).toBeLessThan(6e-5);
      expect(Math.abs(figures.z.rms - own.z.rms)).toBeLessThan(6e-5);
      // the mean square in the plane does not turn
      expect(Math.abs(Math.hypot(figures.x.rms, figures.y.rms) - Math.hypot(own.x.rms, own.y.rms))).toBeLessThan(6e-5);
      // and the bias turns by 30 degrees: 3 sd of the noise's mean, and the vehicle's own bias is millimetres
      expect(figures.x.bias).toBeCloseTo(own.x.bias * Math.cos(30 * degree) - own.y.bias * Math.sin(30 * degree), 4);
      expect(figures.y.bias).toBeCloseTo(own.x.bias * Math.sin(30 * degree) + own.y.bias * Math.cos(30 * degree), 4);
    }
    // the arm's error is in the vehicle's frame: nothing turns
    for (const axis of axes)
      expect(Math.abs(arm![axis].rms - usual.tracking.cycles!.arm![axis].rms)).toBeLessThan(6e-5);
  });

  test("left undeclared it shows as what it is: a standing error of metres", async () => {
    const wrong = await fly({ onboard: placed }, {});
    // the setpoint (0.4, -0.2, 1.5) seen from the capture world lies at (2.446, -0.973, 1.55), by hand: cos 30 = 0.866
    const { vehicle } = wrong.tracking.cycles!;
    expect(vehicle!.x.bias).toBeCloseTo(2 + 0.4 * Math.cos(30 * degree) + 0.2 * 0.5 - 0.4, 1);
    expect(vehicle!.y.bias).toBeCloseTo(-1 + 0.4 * 0.5 - 0.2 * Math.cos(30 * degree) + 0.2, 1);
  });

  test("may stand by block: each run gets its own", async () => {
    const other: FlightSettings["frames"]["onboard"] = { translation: [-1, 0.5, 0], rotation: [0, 0, -20 * degree] };
    const runs = (["day1", "day2"] as const).map((block) => ({
      log: `${block}.bag`,
      id: block,
      configuration: "bare",
      trajectory: "orbit",
      block,
    }));
    const manifest = shortManifest(runs).replace(
      /^ {2}onboard: .*$/m,
      `  onboard:
    day1: { translation: [2 m, -1 m, 50 mm], rotation: [0 deg, 0 deg, 30 deg] }
    day2: { translation: [-1 m, 500 mm, 0 mm], rotation: [0 deg, 0 deg, -20 deg] }`,
    );
    const evaluation = await evaluateFlights(
      {
        "day1.bag": shortFlight(1, { frames: { ...frames, onboard: placed } }),
        "day2.bag": shortFlight(2, { frames: { ...frames, onboard: other } }),
      },
      // the two days' headings differ in the capture's world; the runs by themselves are judged along its axes
      `judge_in: world\n${manifest}`,
    );
    const alone = [await fly({ onboard: placed }, undefined, 1), await fly({ onboard: other }, undefined, 2)];
    evaluation.runs.forEach((run, i) => {
      expect(run.used).toBe(true);
      for (const axis of axes)
        expect(run.tracking.cycles!.vehicle![axis].rms).toBeCloseTo(alone[i]!.tracking.cycles!.vehicle![axis].rms, 9);
    });
    const listed = evaluation.fitted.filter(({ what }) => what.includes("block"));
    expect(listed.map(({ what, on }) => [what, on])).toEqual([
      ["onboard world in the capture world, block day1", "declared in the manifest"],
      ["onboard world in the capture world, block day2", "declared in the manifest"],
    ]);
  });
});

test("a tool point that is not declared is zero and listed as such; with it the effector's error is another", async () => {
  const manifest = shortManifest(["a.bag"]);
  const flight = shortFlight(1);
  const declared = await evaluateFlights({ "a.bag": flight }, manifest);
  const without = await evaluateFlights({ "a.bag": flight }, manifest.replace(/^ {2}tool_point: .*\n/m, ""));
  const entry = (evaluation: typeof declared) => evaluation.fitted.find(({ what }) => what.startsWith("tool point"))!;
  expect(entry(declared)).toMatchObject({ on: "declared in the manifest", value: "[0.00, 0.00, -45.00] mm" });
  expect(entry(without)).toMatchObject({ on: "default: identity, not declared", value: "[0.00, 0.00, 0.00] mm" });
  // the tool point hangs 45 mm below its markers, nearly level
  const lift = without.runs[0]!.tracking.cycles!.effector!.z.bias - declared.runs[0]!.tracking.cycles!.effector!.z.bias;
  expect(lift).toBeCloseTo(0.045, 3);
  expect(checksOf(declared.runs[0]!, "frame-suspect")).toEqual([]);
});

describe("markers beside the vehicle's body point", () => {
  const askew = { bodyPoint: [0, 0, -0.08] as const };
  const said = (run: RunEvaluation) =>
    checksOf(run, "frame-suspect").filter(({ touches }) => touches?.subjects?.includes("vehicle"));

  test("80 mm above it and not declared: as the vehicle tilts they swing along x and y, and it is said", async () => {
    const [check] = said(await fly(askew, {}));
    expect(check).toMatchObject({ severity: "doubt", touches: { subjects: ["vehicle"], part: "all" } });
    // the vehicle hovers within some millimetres of its setpoint
    expect(Math.abs((check!.evidence.off_z_m as number) - 0.08)).toBeLessThan(0.005);
    expect(check!.touches?.axes).not.toContain("z");
  });

  test("declared, nothing is; nor where the whole capture is 80 mm too high, which moves the tool with it", async () => {
    expect(said(await fly(askew))).toEqual([]);
    expect(said(await fly({ onboard: { translation: [0, 0, 0.08], rotation: [0, 0, 0] } }, {}))).toEqual([]);
  });
});

test("a body defined three degrees askew is turned back for the clock, and the source of the offset says so", async () => {
  const flight = toRecording(shortFlight(1));
  const pose = flight.signals.get("vehicle_pose")!;
  const columns = Object.fromEntries(Object.entries(pose.columns).map(([name, column]) => [name, column.slice()]));
  for (let i = 0; i < columns.x!.length; i++) {
    const [qx, qy, qz, qw] = ["qx", "qy", "qz", "qw"].map((name) => columns[name]![i]!) as [
      number,
      number,
      number,
      number,
    ];
    const turned = turnedBy([qx, qy, qz, qw], quaternionOfVector([0, 3 * degree, 0]));
    for (const [k, name] of ["qx", "qy", "qz", "qw"].entries()) columns[name]![i] = turned[k]!;
  }
  const signals = new Map(flight.signals).set("vehicle_pose", { ...pose, columns });
  const logs = { "a.bag": flight, "b.bag": { ...flight, signals } };
  const { runs } = await evaluateFlights(logs, shortManifest(["a.bag", "b.bag"]));
  const [usual, askew] = runs.map(({ clocks }) => clocks.mocap!);
  expect(usual!.source).not.toContain("turned by");
  const [, degrees] = /turned by ([\d.]+) degrees/.exec(askew!.source)!;
  // noise in the gyro's partner shortens the turn by some tenths
  expect(Math.abs(Number(degrees) - 3)).toBeLessThan(1);
  expect(Math.abs(askew!.offset - usual!.offset)).toBeLessThan(usual!.offset_se!);
});
