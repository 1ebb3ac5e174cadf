import { describe, expect, test } from "vitest";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { flightSettings } from "../../src/simulation/flightSettings.ts";
import { simulateFlight } from "../../src/simulation/simulateFlight.ts";
import { harmonicTruth } from "../../src/simulation/trueErrors.ts";
import { describeWith } from "../support/available.ts";
import { runPython } from "../support/run.ts";
import { stillAir } from "../support/stillAir.ts";
import { signalOf } from "./signalOf.ts";

describe("clocks", () => {
  test.each([
    [-0.137, 20e-6, 0n],
    [0.4, -35e-6, 0n],
    [0, 0, 1_760_000_000_000_000_000n],
  ])("a capture stamp is the instant + %d s + %d per second - boot", (offset, skew, boot) => {
    const settings = flightSettings({ clock: { offset, skew, boot }, trajectory: { shape: "hold", duration: 30 } });
    const flight = simulateFlight(settings, 3);
    const { stamped } = signalOf(flight, "vehicle_pose");
    for (const i of [0, 1500, 2999]) {
      const instant = flight.truth.samples.time[i]!;
      const stamp = stamped!.epoch + BigInt(Math.round(stamped!.seconds[i]! * 1e9));
      const difference = Number(stamp - settings.start + boot - BigInt(Math.round(instant * 1e9)));
      // stamps are whole nanoseconds: half of one at each of two roundings
      expect(Math.abs(difference - (offset + skew * instant) * 1e9)).toBeLessThanOrEqual(1.01);
    }
    expect(flight.truth.clock.skew).toBe(skew);
    expect(flight.truth.clock.offset).toBeCloseTo(offset - Number(boot) / 1e9, 9);
  });

  test("receipt comes after the instant by at least the latency and in order", () => {
    const settings = flightSettings({ receipt: { onboard: 0.002, capture: 0.006, jitter: 0.004 } });
    const flight = simulateFlight(settings, 3);
    const { received } = signalOf(flight, "effector_pose");
    const late = received.seconds.map((value, i) => value - flight.truth.samples.time[i]!);
    expect(Math.min(...late)).toBeGreaterThanOrEqual(0.006 - 1e-9);
    // exponential of mean 4 ms, sometimes held up by the message before: mean 4 to 5 ms
    const mean = late.reduce((a, b) => a + b, 0) / late.length - 0.006;
    expect(mean).toBeGreaterThan(0.0037);
    expect(mean).toBeLessThan(0.005);
    expect(received.seconds.every((value, i) => i === 0 || value > received.seconds[i - 1]!)).toBe(true);
  });
});

describe("drift", () => {
  test("shows as bias and slope in the true error, exactly", () => {
    const settings = flightSettings(
      { drift: { bias: [0.002, -0.001, 0.003], slope: [1e-4, -2e-4, 5e-5] } },
      flightSettings(stillAir),
    );
    const { truth } = simulateFlight(settings, 3);
    expect(truth.slope).toEqual([1e-4, -2e-4, 5e-5]);
    for (const axis of [0, 1, 2] as const)
      for (const i of [0, 700, 1600]) {
        const expected = settings.drift.bias[axis] + settings.drift.slope[axis] * truth.samples.time[i]!;
        expect(truth.samples.errors.vehicle[axis][i]).toBeCloseTo(expected, 14);
      }
  });

  test("as wander grows with the square root of time: 1 mm per root second is 10 mm after 100 s", () => {
    const settings = flightSettings({
      ...stillAir,
      drift: { bias: [0, 0, 0], slope: [0, 0, 0], wander: 0.001 },
      trajectory: { shape: "hold", duration: 101 },
      capture: { rate: 1, positionNoise: [0, 0, 0], attitudeNoise: 0 },
      gyro: { rate: 1, noise: 0, bias: [0, 0, 0] },
      setpointRate: 1,
      commandRate: 1,
    });
    let square = 0;
    for (let seed = 0; seed < 40; seed++)
      for (const axis of [0, 1, 2] as const)
        square += simulateFlight(settings, seed).truth.samples.errors.vehicle[axis][100]! ** 2;
    // rate smoothed over 2 s: variance 1e-6 (t - 2), t some 100.5 s; 120 values: sd to 6.5 %; limit 4 of them
    expect(Math.abs(Math.sqrt(square / 120) / Math.sqrt(1e-6 * 98.5) - 1)).toBeLessThan(0.26);
  });

  test("varies from run to run as set, and the truth knows by how much", () => {
    const settings = flightSettings({ trajectory: { shape: "hold", duration: 0.5 }, between: { slope: 1e-4 } });
    let square = 0;
    for (let seed = 0; seed < 100; seed++)
      square += simulateFlight(settings, seed).truth.slope.reduce((a, b) => a + b * b, 0);
    // 300 values: sd to 4.1 %; limit 5 of them
    expect(Math.abs(Math.sqrt(square / 300) / 1e-4 - 1)).toBeLessThan(0.205);
  });
});

describe("the arm", () => {
  const settings = flightSettings({
    ...stillAir,
    commandRate: 1000,
    arm: { curvature: 0, gain: [1, 1, 1] },
    trajectory: { shape: "line", axis: "x", stroke: 0.15, period: 1.9, cycles: 8, rampIn: 0 },
  });
  const { truth } = simulateFlight(settings, 3);

  test("comes after its command by transport delay + 2 zeta / omega for slow motion", () => {
    // 20 ms + 2 x 0.85 / (2 pi 6) s
    expect(truth.armDelay.slow).toBeCloseTo(0.02 + 1.7 / (12 * Math.PI), 15);
  });

  test("errs by what its servo's gain and phase at the cycle rate make of the command", () => {
    // command 75 mm (1 - cos theta): its moving part is -75 mm cos theta; the servo turns it by its phase and changes its length
    const omega = (2 * Math.PI) / 1.9;
    const natural = 12 * Math.PI;
    const gain = natural ** 2 / Math.hypot(natural ** 2 - omega ** 2, 1.7 * natural * omega);
    const phase = omega * truth.armDelay.atCycleRate;
    const { cos, sin } = truth.synchronous!.arm.x;
    // the start's transient (0.2 s of 15 s) and the command's straight pieces of 1 ms leave up to 0.2 % of 75 mm
    expect(Math.abs(cos[0]! + 0.075 * (gain * Math.cos(phase) - 1))).toBeLessThan(1.5e-4);
    expect(Math.abs(sin[0]! + 0.075 * gain * Math.sin(phase))).toBeLessThan(1.5e-4);
    expect(Math.abs(sin[0]!)).toBeGreaterThan(0.01);
  });

  test("with a curved calibration shows a second harmonic of curvature x amplitude^2 / 2", () => {
    const curved = simulateFlight(flightSettings({ arm: { curvature: 0.2 } }, settings), 3).truth;
    const { cos, sin } = curved.synchronous!.arm.x;
    // 0.2 /m (75 mm)^2 (1 - cos)^2: its cos 2 theta part is 0.2 x 0.075^2 / 2 = 0.5625 mm, a little less through the servo
    const found = Math.hypot(cos[1]!, sin[1]!);
    expect(found).toBeGreaterThan(0.0005);
    expect(found).toBeLessThan(0.0005625 * 1.02);
  });
});

test("the recorded poses show the true errors: effector = tool point in the world against setpoint and command", () => {
  const settings = flightSettings({
    capture: { positionNoise: [0, 0, 0], attitudeNoise: 0 },
    frames: {
      toolPoint: [0.01, -0.02, -0.045],
      bodyPoint: [0.005, 0.01, -0.03],
      armBase: { translation: [0.06, 0.01, -0.12], rotation: [0.1, -0.2, 0.4] },
    },
  });
  const flight = simulateFlight(settings, 12);
  const { errors } = flight.truth.samples;
  const expected = runlessToolPoint(flight);
  for (const i of [100, 1500, 2500, 3300])
    for (const axis of [0, 1, 2] as const) {
      expect(expected.vehicle(i)[axis]! - settings.setpoint[axis]).toBeCloseTo(errors.vehicle[axis][i]!, 12);
      const arm = expected.tool(i)[axis]! - expected.vehicle(i)[axis]!;
      const relative = errors.effector[axis][i]! - errors.vehicle[axis][i]! + expected.commandInVehicle(i)[axis]!;
      // command stamps are whole nanoseconds: 0.5 ns at 0.25 m/s is 1.3e-10 m
      expect(Math.abs(arm - relative)).toBeLessThan(2e-10);
    }
});

/** Control points from the recorded columns by rotation matrices (the simulation turns by quaternions). */
function runlessToolPoint(flight: ReturnType<typeof simulateFlight>) {
  const { frames } = flight.settings;
  const matrix = (name: "vehicle_pose" | "effector_pose", i: number): number[][] => {
    const { columns } = signalOf(flight, name);
    const [x, y, z, w] = ["qx", "qy", "qz", "qw"].map((part) => columns[part]![i]!) as [number, number, number, number];
    return [
      [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
      [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
      [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)],
    ];
  };
  const apply = (m: number[][], v: readonly number[]): number[] =>
    m.map((row) => row.reduce((sum, value, k) => sum + value * v[k]!, 0));
  const point = (name: "vehicle_pose" | "effector_pose", at: readonly number[], i: number): number[] => {
    const { columns } = signalOf(flight, name);
    const turned = apply(matrix(name, i), at);
    return ["x", "y", "z"].map((axis, k) => columns[axis]![i]! + turned[k]!);
  };
  const [roll, pitch, yaw] = frames.armBase.rotation;
  const rx = [
    [1, 0, 0],
    [0, Math.cos(roll), -Math.sin(roll)],
    [0, Math.sin(roll), Math.cos(roll)],
  ];
  const ry = [
    [Math.cos(pitch), 0, Math.sin(pitch)],
    [0, 1, 0],
    [-Math.sin(pitch), 0, Math.cos(pitch)],
  ];
  const rz = [
    [Math.cos(yaw), -Math.sin(yaw), 0],
    [Math.sin(yaw), Math.cos(yaw), 0],
    [0, 0, 1],
  ];
  const command = signalOf(flight, "effector_command");
  const base = command.stamped!.seconds;
  return {
    vehicle: (i: number) => point("vehicle_pose", frames.bodyPoint, i),
    tool: (i: number) => point("effector_pose", frames.toolPoint, i),
    commandInVehicle: (i: number): number[] => {
      const t = flight.truth.samples.time[i]!;
      const k = Math.max(0, base.findIndex((value) => value > t) - 1);
      const part = (t - base[k]!) / (base[k + 1]! - base[k]!);
      const wanted = ["x", "y", "z"].map(
        (axis) => command.columns[axis]![k]! * (1 - part) + command.columns[axis]![k + 1]! * part,
      );
      return apply(rz, apply(ry, apply(rx, wanted))).map((value, axis) => value + frames.armBase.translation[axis]!);
    },
  };
}

describeWith(["scipy"], "harmonicTruth against numpy", () => {
  test("agrees with numpy.linalg.lstsq on samples with gaps", () => {
    const random = seededRandom(5);
    const times = Float64Array.from({ length: 900 }, (_, i) => i * 0.01 + (i > 400 ? 0.7 : 0));
    const values = times.map((t) => 0.3 * Math.cos(5 * t) + random.normal());
    const expected = runPython<number[]>(
      `import json,sys,numpy
d=json.load(sys.stdin)
t=numpy.array(d['t']); y=numpy.array(d['y']); k=(t>=1)&(t<9.4); th=2*numpy.pi*(t[k]-1)/1.2
X=numpy.column_stack([numpy.ones(k.sum())]+[f(j*th) for j in range(1,6) for f in (numpy.cos,numpy.sin)])
print(json.dumps(numpy.linalg.lstsq(X,y[k],rcond=None)[0].tolist()))`,
      { t: Array.from(times), y: Array.from(values) },
    );
    const [found] = harmonicTruth(times, [values], { from: 1, to: 9.4, period: 1.2 });
    const list = [found!.bias, ...[0, 1, 2, 3, 4].flatMap((k) => [found!.cos[k]!, found!.sin[k]!])];
    // well conditioned: rounding of some hundred sums
    list.forEach((value, i) => {
      expect(value).toBeCloseTo(expected[i]!, 12);
    });
  });
});
