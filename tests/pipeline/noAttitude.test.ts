import { beforeAll, describe, expect, test } from "vitest";
import type { RunEvaluation } from "../../src/contract/evaluation.ts";
import type { RecordedSignal, Recording } from "../../src/foundation/recording.ts";
import type { SignalName } from "../../src/foundation/tracks.ts";
import type { CampaignPlan } from "../../src/simulation/manifestFor.ts";
import { toRecording } from "../support/toRecording.ts";
import { evaluateFlights, glance, shortFlight, shortManifest, shortSettings } from "./shortCampaign.ts";

const flight = shortFlight(91);
const recorded = toRecording(flight);

/** A pose as PointStamped carries it. */
function asPoint(signal: RecordedSignal): RecordedSignal {
  const { x, y, z } = signal.columns as Readonly<Record<string, Float64Array>>;
  return { ...signal, type: "geometry_msgs/PointStamped", columns: { x: x!, y: y!, z: z! } };
}

/** A pose whose attitude was filled in and never measured. */
function filledIn(signal: RecordedSignal): RecordedSignal {
  const all = (value: number): Float64Array => signal.columns.x!.map(() => value);
  return { ...signal, columns: { ...signal.columns, qx: all(0), qy: all(0), qz: all(0), qw: all(1) } };
}

async function fly(
  changed: Partial<Record<SignalName, (signal: RecordedSignal) => RecordedSignal>>,
  plan: Partial<CampaignPlan> = { captureClock: "known" },
  manifest = shortManifest(["a.bag"], plan),
): Promise<RunEvaluation> {
  const signals = new Map([...recorded.signals].map(([name, signal]) => [name, changed[name]?.(signal) ?? signal]));
  const recording: Recording = { ...recorded, signals };
  return (await evaluateFlights({ "a.bag": recording }, manifest)).runs[0]!;
}

describe.each([
  ["a point", asPoint, "holds positions alone"],
  ["a pose with the identity in every message", filledIn, "the same attitude in every message"],
] as const)("a vehicle that is captured as %s", (_, change, words) => {
  let whole: RunEvaluation;
  let run: RunEvaluation;
  beforeAll(async () => {
    whole = await fly({});
    run = await fly({ vehicle_pose: change });
  });

  // where the body point is (p), and where the tool is against the setpoint, are measured without the vehicle's attitude
  test("is scored where it is, and so is the effector: as with the attitude, to the last digit", () => {
    expect(run.used).toBe(true);
    for (const window of ["cycles", "hold"] as const) {
      expect(run.tracking[window]!.vehicle).toEqual(whole.tracking[window]!.vehicle);
      expect(run.tracking[window]!.effector).toEqual(whole.tracking[window]!.effector);
    }
  });

  test("shows nothing that rests on its attitude, and says why", () => {
    expect(whole.tracking.cycles!.arm!.x.rms).toBeGreaterThan(0);
    expect(whole.attitude).not.toBeNull();
    expect(whole.budget).not.toBeNull();
    expect([run.tracking.cycles!.arm, run.tracking.hold!.arm, run.hold!.arm]).toEqual([
      undefined,
      undefined,
      undefined,
    ]);
    expect([run.attitude, run.budget]).toEqual([null, null]);
    const said = run.checks.filter(({ code }) => code === "missing-signal");
    expect(said).toMatchObject([{ severity: "doubt", message: expect.stringContaining(words) }]);
    expect(said[0]!.message).toContain("the arm's own error, the error budget and the attitude error are left out");
    // no other suspicion: a level attitude that nobody measured is compared with nothing
    expect(glance(run).filter((text) => /doubt|unusable/.test(text))).toEqual(["missing-signal doubt"]);
  });

  test("still shows a tool point that is 100 mm off", async () => {
    const manifest = shortManifest(["a.bag"], { captureClock: "known" });
    const wrong = manifest.replace(/tool_point: .*/, "tool_point: [0 mm, 0 mm, -145 mm]");
    expect(wrong).not.toBe(manifest);
    const said = (await fly({ vehicle_pose: change }, {}, wrong)).checks.filter(({ code }) => code === "frame-suspect");
    // the arm's own mean error, of its gain and of the vehicle's tilt, is some millimetres
    expect(said).toMatchObject([
      {
        severity: "doubt",
        message: expect.stringMatching(/^less what the vehicle is off, the tool stands (9\d|10\d) mm/),
      },
    ]);
  });

  test("cannot be joined to the other clock by a gyro", async () => {
    const lost = await fly({ vehicle_pose: change }, {});
    expect(lost.used).toBe(false);
    const message = lost.checks.find(({ severity }) => severity === "unusable")!.message;
    expect(message).toContain("the offset of clock mocap cannot be found: a gyro shows how the vehicle turns");
    expect(message).toContain(words);
  });
});

test("a vehicle of which only the yaw is logged shows nothing that rests on its tilt, but its yaw is compared", async () => {
  // as `inSI` makes it of a yaw: half the angle about z
  const yawed =
    (angle: number) =>
    (signal: RecordedSignal): RecordedSignal => {
      const all = (value: number): Float64Array => signal.columns.x!.map(() => value);
      const wander = signal.columns.x!.map((_, i) => 0.01 * Math.sin(i / 50) + angle);
      const attitude = {
        qx: all(0),
        qy: all(0),
        qz: wander.map((v) => Math.sin(v / 2)),
        qw: wander.map((v) => Math.cos(v / 2)),
      };
      return { ...signal, columns: { ...signal.columns, ...attitude } };
    };
  const run = await fly({ vehicle_pose: yawed(0) });
  expect(run.tracking.cycles!.arm).toBeUndefined();
  expect([run.attitude, run.budget]).toEqual([null, null]);
  const said = run.checks.filter(({ code }) => code === "missing-signal");
  expect(said).toMatchObject([
    { severity: "doubt", message: expect.stringContaining("holds no attitude but its yaw") },
  ]);
  // a quarter turn from the yaw that is commanded
  const turned = await fly({ vehicle_pose: yawed(Math.PI / 2) });
  const suspect = turned.checks.filter(({ code }) => code === "frame-suspect").map(({ message }) => message);
  expect(suspect.some((message) => message.includes("the vehicle flies at 90 degrees"))).toBe(true);
});

describe("a vehicle that turns, and of which only the yaw is logged", () => {
  // Z-Y-X angles (yaw, pitch, roll): tan(yaw) = 2 (wz + xy) / (1 - 2 (y^2 + z^2))
  const yawOnly = (signal: RecordedSignal): RecordedSignal => {
    const { qx, qy, qz, qw } = signal.columns as Readonly<Record<string, Float64Array>>;
    const yaw = qz!.map((z, i) => {
      const [x, y, w] = [qx![i]!, qy![i]!, qw![i]!];
      return Math.atan2(2 * (w * z + x * y), 1 - 2 * (y * y + z * z));
    });
    const none = yaw.map(() => 0);
    const attitude = { qx: none, qy: none, qz: yaw.map((v) => Math.sin(v / 2)), qw: yaw.map((v) => Math.cos(v / 2)) };
    return { ...signal, columns: { ...signal.columns, ...attitude } };
  };

  test("is joined to a gyro by its yaw: the tilt that the gyro shows beside it is not held against it", async () => {
    const run = await fly({ vehicle_pose: yawOnly }, {});
    expect(run.used).toBe(true);
    const { offset, offset_se, source } = run.clocks.mocap!;
    expect(source).toContain("by the yaw alone");
    // the offset that the flight was simulated with
    expect(Math.abs(offset - flight.settings.clock.offset)).toBeLessThan(4 * offset_se!);
  });

  test("is joined to an estimate by where both are", async () => {
    const estimate = { rate: 50, positionNoise: 0.002, attitudeNoise: 5e-4, delay: 0 };
    const other = shortFlight(92, { estimate });
    const signals = new Map(toRecording(other).signals);
    signals.set("vehicle_pose", yawOnly(signals.get("vehicle_pose")!));
    const manifest = shortManifest(["a.bag"], {
      flight: other.settings,
      captureClock: "estimate",
      signals: ["vehicle_pose", "effector_pose", "vehicle_setpoint", "effector_command", "vehicle_estimate"],
    });
    const run = (await evaluateFlights({ "a.bag": { ...toRecording(other), signals } }, manifest)).runs[0]!;
    const { offset, offset_se, source } = run.clocks.mocap!;
    expect(source).toContain("position against position");
    expect(Math.abs(offset - other.settings.clock.offset)).toBeLessThan(4 * offset_se!);
  });
});

test("a vehicle alone, captured as a point, is scored; what is left out is worth a note", async () => {
  const run = await fly(
    { vehicle_pose: asPoint },
    {
      captureClock: "known",
      signals: ["vehicle_pose", "vehicle_setpoint"],
      trajectories: { orbit: { shape: "hold", duration: 8 } },
    },
  );
  expect(run.used).toBe(true);
  const said = run.checks.filter(({ code }) => code === "missing-signal");
  expect(said).toMatchObject([
    { severity: "note", message: expect.stringContaining("the attitude error is left out") },
  ]);
});

test("a body point away from what is captured as a point cannot be placed: nothing is scored", async () => {
  const settings = shortSettings({ frames: { bodyPoint: [0.03, 0, -0.04] } });
  const run = await fly({ vehicle_pose: asPoint }, { captureClock: "known", flight: settings });
  expect(run.used).toBe(false);
  expect(run.tracking.cycles).toBeNull();
  // 3, 4, 5
  expect(run.checks.find(({ severity }) => severity === "unusable")!.message).toContain("`body_point`, 50 mm from it");
});

describe("an effector that is captured as a point", () => {
  test("is not scored where its tool point lies elsewhere", async () => {
    const run = await fly({ effector_pose: asPoint });
    expect(run.used).toBe(true);
    expect(run.tracking.cycles!.effector).toBeUndefined();
    expect(run.tracking.cycles!.arm).toBeUndefined();
    const said = run.checks.filter(({ code }) => code === "missing-signal");
    expect(said).toMatchObject([
      { severity: "doubt", message: expect.stringContaining("`tool_point`, 45 mm from it") },
    ]);
  });

  test("is scored as the tool point itself where none is declared", async () => {
    const manifest = shortManifest(["a.bag"], { captureClock: "known" });
    const none = manifest.replace(/^ {2}tool_point: .*\n/m, "");
    expect(none).not.toBe(manifest);
    const [point, pose] = [await fly({ effector_pose: asPoint }, {}, none), await fly({}, {}, none)];
    expect(point.tracking.cycles!.effector).toEqual(pose.tracking.cycles!.effector);
    expect(point.tracking.cycles!.arm).toEqual(pose.tracking.cycles!.arm);
    expect(point.checks.filter(({ code }) => code === "missing-signal")).toEqual([]);
  });
});
