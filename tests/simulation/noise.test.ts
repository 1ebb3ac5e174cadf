import { describe, expect, test } from "vitest";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { simulateStaticCapture } from "../../src/simulation/capture.ts";
import { defaultFlight, flightSettings } from "../../src/simulation/flightSettings.ts";
import type { FlightChanges } from "../../src/simulation/flightShape.ts";
import { fly, gaussMarkov } from "../../src/simulation/motion.ts";
import { inputCount, plant, state, stateCount } from "../../src/simulation/plant.ts";
import { simulateFlight } from "../../src/simulation/simulateFlight.ts";
import { timelineOf } from "../../src/simulation/timeline.ts";
import { describeWith } from "../support/available.ts";
import { runPython } from "../support/run.ts";
import { stillAir } from "../support/stillAir.ts";
import { signalOf } from "./signalOf.ts";

const hold = { shape: "hold", duration: 30 } as const;

function spread(values: Float64Array): { mean: number; sd: number; next: number } {
  const mean = values.reduce((a, b) => a + b, 0) / values.length;
  const rest = values.map((value) => value - mean);
  const square = rest.reduce((sum, value) => sum + value * value, 0);
  const next = rest.slice(1).reduce((sum, value, i) => sum + value * rest[i]!, 0);
  return { mean, sd: Math.sqrt(square / (values.length - 1)), next: next / square };
}

test("gaussMarkov has the set spread, and forgets as exp(-lag / time)", () => {
  const values = gaussMarkov(seededRandom(11), 0.3, 0.5, 0.1, 200_000);
  const { sd, next } = spread(values);
  // effective samples n (1 - r^2) / (1 + r^2) with r = exp(-0.2): 39 000; sd of sd/sd = 1/sqrt(2 n): 0.36 %; limit 5 of them
  expect(Math.abs(sd / 0.3 - 1)).toBeLessThan(0.018);
  // Bartlett: sd of r is sqrt((1 - r^2) / n) = 0.0013; limit 5 of them
  expect(Math.abs(next - Math.exp(-0.2))).toBeLessThan(0.0065);
});

describe("what the sensors add", () => {
  const clean = simulateFlight(flightSettings({ ...stillAir, trajectory: hold }), 21);
  const noisy = simulateFlight(
    flightSettings({
      ...stillAir,
      trajectory: hold,
      capture: { positionNoise: [0.0001, 0.0002, 0.0003], attitudeNoise: 0.0008 },
      gyro: { noise: 0.003, bias: [0.004, -0.003, 0.002] },
    }),
    21,
  );
  // 3000 samples: sd of an estimated sd is 1.3 % of it, of a lag-one correlation 0.018; limits 5 of them
  test("is white and as strong as set, per axis, on the poses' position", () => {
    for (const name of ["vehicle_pose", "effector_pose"] as const)
      for (const [axis, set] of [
        ["x", 0.0001],
        ["y", 0.0002],
        ["z", 0.0003],
      ] as const) {
        const base = signalOf(clean, name).columns[axis]!;
        const { sd, next } = spread(signalOf(noisy, name).columns[axis]!.map((value, i) => value - base[i]!));
        expect(Math.abs(sd / set - 1)).toBeLessThan(0.065);
        expect(Math.abs(next)).toBeLessThan(0.091);
      }
  });

  test("turns the attitude by the set angle about each axis (twice the vector part near level)", () => {
    for (const part of ["qx", "qy", "qz"]) {
      const { sd } = spread(signalOf(noisy, "vehicle_pose").columns[part]!.map((value) => 2 * value));
      expect(Math.abs(sd / 0.0008 - 1)).toBeLessThan(0.065);
    }
  });

  test("shows at the gyro as bias and white noise", () => {
    for (const [name, bias] of [
      ["wx", 0.004],
      ["wy", -0.003],
      ["wz", 0.002],
    ] as const) {
      const { mean, sd } = spread(signalOf(noisy, "vehicle_rate").columns[name]!);
      // 6000 samples: mean to 0.003 / sqrt 6000 = 4e-5, sd to 0.9 %; limits 5 of them
      expect(Math.abs(mean - bias)).toBeLessThan(2e-4);
      expect(Math.abs(sd / 0.003 - 1)).toBeLessThan(0.046);
    }
  });

  test("reaches the tool point through the attitude at its lever, as the truth says", () => {
    const settings = flightSettings({
      capture: { positionNoise: [0.0001, 0.0001, 0.0001], attitudeNoise: 0.002 },
      frames: { toolPoint: [0, 0, -0.2] },
    });
    const { noise } = simulateFlight(settings, 4).truth;
    // sqrt(0.1^2 + (0.2 m x 2 mrad)^2) mm = sqrt(0.01 + 0.16) mm across the lever, 0.1 mm along it
    expect(noise.effector[0]).toBeCloseTo(0.0004123105625617661, 15);
    expect(noise.effector[2]).toBeCloseTo(0.0001, 15);
    expect(noise.vehicle).toEqual([0.0001, 0.0001, 0.0001]);
    // and so it is: tool point = origin + R lever; x of R (0, 0, l) is 2 (qx qz + qw qy) l
    const { columns } = signalOf(simulateStaticCapture(settings, 40, 5), "effector_pose");
    const tool = columns.x!.map(
      (x, i) => x - 0.2 * 2 * (columns.qx![i]! * columns.qz![i]! + columns.qw![i]! * columns.qy![i]!),
    );
    expect(Math.abs(spread(tool).sd / noise.effector[0] - 1)).toBeLessThan(0.06);
  });
});

describeWith(["scipy"], "the air's effect on the hover against the Lyapunov equation", () => {
  const changes: FlightChanges = { ...stillAir, air: defaultFlight.air, trajectory: { shape: "hold", duration: 600 } };
  const settings = flightSettings(changes);
  const system = plant(settings);
  // stationary covariance of the plant driven by six first-order processes: one matrix equation, solved by scipy
  const expected = (): number[] =>
    runPython<number[]>(
      `import json,sys,numpy,scipy.linalg
d=json.load(sys.stdin)
n,m=d['n'],d['m']
A=numpy.reshape(d['a'],(n,n)); B=numpy.reshape(d['b'],(n,m))[:,3:]
T=numpy.array(d['times']); S=numpy.array(d['sd'])
big=numpy.block([[A,B],[numpy.zeros((6,n)),numpy.diag(-1/T)]])
Q=numpy.zeros((n+6,n+6)); Q[n:,n:]=numpy.diag(2*S**2/T)
P=scipy.linalg.solve_continuous_lyapunov(big,-Q)
print(json.dumps(numpy.sqrt(numpy.maximum(0,numpy.diag(P)))[:n].tolist()))`,
      {
        n: stateCount,
        m: inputCount,
        a: Array.from(system.a),
        b: Array.from(system.b),
        times: [...Array(3).fill(settings.air.forceTime), ...Array(3).fill(settings.air.torqueTime)],
        sd: [...settings.air.force, ...settings.air.torque],
      },
    );

  test("a long hover spreads as far as it must, in position and tilt", () => {
    const sd = expected();
    const { truth } = simulateFlight(flightSettings({ ...changes, capture: { ...settings.capture, rate: 10 } }), 8);
    for (const [axis, place] of [
      [0, state.x],
      [1, state.y],
      [2, state.z],
    ] as const) {
      const found = spread(truth.samples.errors.vehicle[axis]).sd;
      // correlation time about 0.5 s, so some 600 independent values at least: sd to 2.9 %; limit 5 of them
      expect(Math.abs(found / sd[place]! - 1)).toBeLessThan(0.145);
    }
  });

  test("a flight starts in that spread, not at rest", () => {
    const sd = expected();
    const short = flightSettings({ ...changes, trajectory: { shape: "hold", duration: 0.1 } });
    const starts = Float64Array.from({ length: 300 }, (_, seed) => {
      const { full } = fly(short, timelineOf(short), seed);
      return full.at(0).position[0] - short.setpoint[0];
    });
    // 300 flights: sd to 4.1 %; limit 5 of them
    expect(Math.abs(spread(starts).sd / sd[state.x]! - 1)).toBeLessThan(0.205);
  });
});
