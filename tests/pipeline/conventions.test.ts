import { describe, expect, test } from "vitest";
import { turnAxes } from "../../src/alignment/heading.ts";
import type { RunEvaluation } from "../../src/contract/evaluation.ts";
import type { RecordedSignal, Recording } from "../../src/foundation/recording.ts";
import type { SignalName } from "../../src/foundation/tracks.ts";
import { toRecording } from "../support/toRecording.ts";
import { checksOf, evaluateFlights, glance, shortFlight, shortManifest } from "./shortCampaign.ts";

/** Axes, turns and units that a lab gets wrong without noticing: each is said with evidence, and nothing is turned for it. */

type Change = (columns: Readonly<Record<string, Float64Array>>) => Record<string, Float64Array>;
type Changes = Partial<Record<SignalName, Change>>;

const flight = shortFlight(12);
const climbing = shortFlight(13, { timeline: { hold: 8, pause: 1, rest: 2, takeOff: true } });

async function fly(changes: Changes, manifest = shortManifest(["a.bag"]), from = flight): Promise<RunEvaluation> {
  const recorded = toRecording(from);
  const signals = new Map(
    [...recorded.signals].map(([name, signal]): [SignalName, RecordedSignal] => {
      const change = changes[name];
      return [
        name,
        change === undefined ? signal : { ...signal, columns: { ...signal.columns, ...change(signal.columns) } },
      ];
    }),
  );
  const recording: Recording = { ...recorded, signals };
  return (await evaluateFlights({ "a.bag": recording }, manifest)).runs[0]!;
}

const minus = (column: Float64Array | undefined): Float64Array => column!.map((value) => -value);
const known = shortManifest(["a.bag"], { captureClock: "known" });
const suspicions = (run: RunEvaluation): string[] =>
  checksOf(run, "frame-suspect").map(({ severity, message }) => `${severity}: ${message}`);

/** A manifest with axes declared on signals. */
function declared(axes: Partial<Record<SignalName, string>>, text: string): string {
  return text
    .split("\n")
    .map((line) => {
      const signal = /^ {2}(\w+): \{ topic:/.exec(line)?.[1] as SignalName | undefined;
      const own = signal === undefined ? undefined : axes[signal];
      return own === undefined ? line : line.replace(" }", `, axes: ${own} }`);
    })
    .join("\n");
}

test("sound flights, with and without a take-off, raise no suspicion", async () => {
  expect(suspicions(await fly({}))).toEqual([]);
  const run = await fly({}, shortManifest(["a.bag"], { flight: climbing.settings }), climbing);
  expect(suspicions(run)).toEqual([]);
  expect(run.used).toBe(true);
});

describe("a gyro against the captured attitude", () => {
  const frd: Change = ({ wy, wz }) => ({ wy: minus(wy), wz: minus(wz) });

  test("in forward, right, down is reported with the axes that would agree", async () => {
    const [found] = suspicions(await fly({ vehicle_rate: frd }, known));
    expect(found).toMatch(/^doubt: gyro .* do not turn about the same axes.*y reads -y, z reads -z/);
  });

  test("in forward, right, down and declared so is sound, and joins the clocks as it did", async () => {
    const sound = await fly({});
    const run = await fly({ vehicle_rate: frd }, declared({ vehicle_rate: "{ body: frd }" }, shortManifest(["a.bag"])));
    expect(suspicions(run)).toEqual([]);
    expect(run.clocks.mocap!.offset).toBe(sound.clocks.mocap!.offset);
  });

  test("with two axes exchanged", async () => {
    const [found] = suspicions(await fly({ vehicle_rate: ({ wx, wy }) => ({ wx: wy!, wy: wx! }) }, known));
    expect(found).toMatch(/x reads y, y reads x/);
  });

  test("in degrees per second taken for radians", async () => {
    const degrees: Change = (columns) =>
      Object.fromEntries(
        Object.entries(columns).map(([name, column]) => [name, column.map((rate) => (rate * 180) / Math.PI)]),
      );
    const [found] = suspicions(await fly({ vehicle_rate: degrees }, known));
    // 180 / pi
    expect(found).toMatch(/turns 57\.\d times as fast/);
  });

  test("an attitude that is the inverse turn: all three axes come reversed", async () => {
    const inverse: Change = ({ qx, qy, qz, qw }) => {
      const turned = Array.from(qw!, (w, k) => [-qx![k]!, -qy![k]!, -qz![k]!, w]);
      return Object.fromEntries(
        ["qx", "qy", "qz", "qw"].map((name, axis) => [name, Float64Array.from(turned, (q) => q[axis]!)]),
      );
    };
    const found = suspicions(await fly({ vehicle_pose: inverse }, known));
    expect(found.join("\n")).toMatch(/x reads -x, y reads -y, z reads -z.*inverse turn/);
  });
});

describe("commanded against measured direction", () => {
  test("a command of the arm with y reversed: no turn can explain it", async () => {
    const run = await fly({ effector_command: ({ y }) => ({ y: minus(y) }) });
    expect(run.used).toBe(false);
    expect(suspicions(run).join("\n")).toMatch(/the arm does not move where it was asked to go.*y reads -y.*mirrored/);
  });

  test("a command of the arm in x and y instead of y and z", async () => {
    const run = await fly({ effector_command: ({ x, y, z }) => ({ x: y!, y: z!, z: x! }) });
    expect(suspicions(run).join("\n")).toMatch(/the arm does not move where it was asked to go/);
  });
});

describe("which way is up", () => {
  /** As a capture and a setpoint in north, east, down would be logged: the turn is its own inverse. */
  const ned: Change = (columns) => {
    const n = columns.x!.length;
    const level = {
      qx: new Float64Array(n),
      qy: new Float64Array(n),
      qz: new Float64Array(n),
      qw: new Float64Array(n).fill(1),
    };
    const { x, y, z, qx, qy, qz, qw } = turnAxes(
      {
        t: new Float64Array(n),
        ...level,
        ...(columns as unknown as typeof level & { x: Float64Array; y: Float64Array; z: Float64Array }),
      },
      { world: "ned", body: "frd" },
    );
    return columns.qx === undefined ? { x, y, z } : { x, y, z, qx, qy, qz, qw };
  };
  const everything: Changes = {
    vehicle_pose: ned,
    effector_pose: ned,
    vehicle_setpoint: ned,
    vehicle_rate: ({ wy, wz }) => ({ wy: minus(wy), wz: minus(wz) }),
  };
  const manifest = shortManifest(["a.bag"], { flight: climbing.settings });

  test("a flight logged in north, east, down seems to sink at take-off, and that is reported", async () => {
    const run = await fly(everything, manifest, climbing);
    expect(suspicions(run).join("\n")).toMatch(/stands at a height of -?\d.* and flies at -\d.*z seems to point down/);
  });

  test("declared so, it is evaluated as the flight in the campaign's own axes is", async () => {
    const axes = { world: "{ world: ned }", body: "{ body: frd }" };
    const run = await fly(
      everything,
      declared(
        { vehicle_pose: axes.world, effector_pose: axes.world, vehicle_setpoint: axes.world, vehicle_rate: axes.body },
        manifest,
      ),
      climbing,
    );
    const sound = await fly({}, manifest, climbing);
    expect(glance(run)).toEqual(glance(sound));
    for (const subject of ["vehicle", "effector", "arm"] as const)
      for (const axis of ["x", "y", "z"] as const) {
        const [one, other] = [sound, run].map(({ tracking }) => tracking.cycles![subject]![axis]!.rms);
        // two turns by root a half: rounding
        expect(Math.abs(one! / other! - 1)).toBeLessThan(1e-8);
      }
  });

  test("a y-up capture that is not declared stands on its side", async () => {
    const yUp: Change = ({ x, y, z }) => ({ x: x!, y: z!, z: minus(y) });
    const run = await fly({ vehicle_pose: yUp, effector_pose: yUp });
    expect(run.used).toBe(false);
    expect(suspicions(run).join("\n")).toMatch(/y up/);
  });
});

test("a yaw in degrees taken for radians", async () => {
  const yaw: Change = ({ x }) => ({ yaw: x!.map((_, k) => 90 + (k % 2)) });
  const stripped: Change = (columns) => ({ ...yaw(columns), qw: columns.qw!.map(() => Number.NaN) });
  const run = await fly({ vehicle_setpoint: stripped });
  expect(suspicions(run).join("\n")).toMatch(
    /the yaw of vehicle_setpoint goes up to 91\.0 rad: 57.3 times too large, degrees/,
  );
});

describe("the yaw that counts as commanded against the vehicle's, which flies at 0", () => {
  const unsaid = (column: Float64Array | undefined): Float64Array => column!.map(() => Number.NaN);
  const yawed = (degrees: number): Change => {
    const half = (degrees * Math.PI) / 360;
    return ({ qz, qw }) => ({ qz: qz!.map(() => Math.sin(half)), qw: qw!.map(() => Math.cos(half)) });
  };

  test("a setpoint without attitude in north, east, down is taken for north, which is 90 degrees from x", async () => {
    const unturned: Change = ({ x, y, z, qx, qy, qz, qw }) => ({
      ...{ x: y!, y: x!, z: minus(z) },
      ...{ qx: unsaid(qx), qy: unsaid(qy), qz: unsaid(qz), qw: unsaid(qw) },
    });
    const run = await fly({ vehicle_setpoint: unturned }, declared({ vehicle_setpoint: "{ world: ned }" }, known));
    expect(suspicions(run).join("\n")).toMatch(
      /doubt: the setpoint carries no attitude, so a yaw of 90 degrees is taken for commanded, but the vehicle flies at -?\d degrees/,
    );
  });

  test("a commanded yaw of 20 degrees is doubted, one of 5 is a fair error of control", async () => {
    const run = await fly({ vehicle_setpoint: yawed(20) }, known);
    expect(suspicions(run).join("\n")).toMatch(
      /doubt: a yaw of 20 degrees is taken for commanded, but the vehicle flies at -?\d degrees/,
    );
    expect(suspicions(await fly({ vehicle_setpoint: yawed(5) }, known)).join("\n")).not.toContain("a yaw of");
  });

  test("a yaw that is commanded all round tells nothing", async () => {
    const round: Change = ({ qz, qw }) => ({
      qz: qz!.map((_, i, all) => Math.sin((Math.PI * i) / all.length)),
      qw: qw!.map((_, i, all) => Math.cos((Math.PI * i) / all.length)),
    });
    expect(suspicions(await fly({ vehicle_setpoint: round }, known)).join("\n")).not.toContain("a yaw of");
  });
});
