import { describe, expect, test } from "vitest";
import { flightSettings } from "../../src/simulation/flightSettings.ts";
import type { FlightChanges } from "../../src/simulation/flightShape.ts";
import { fly } from "../../src/simulation/motion.ts";
import { simulateFlight } from "../../src/simulation/simulateFlight.ts";
import { timelineOf } from "../../src/simulation/timeline.ts";
import { stillAir } from "../support/stillAir.ts";
import { signalOf } from "./signalOf.ts";

const quiet: FlightChanges = {
  capture: { positionNoise: [0, 0, 0], attitudeNoise: 0 },
  gyro: { noise: 0, bias: [0, 0, 0] },
};

describe.each([
  ["in hover", {}],
  ["from the ground", { timeline: { takeOff: true, hold: 6 } }],
] as const)("the gyro %s", (_, changes) => {
  test("is the derivative of the captured attitude in body axes", () => {
    // both at 1 kHz on one clock; body rate = twice the vector part of conj(q) dq/dt
    const flight = simulateFlight(
      flightSettings({
        ...quiet,
        ...changes,
        air: { torque: [0.05, 0.05, 0.05] },
        capture: { ...quiet.capture, rate: 1000 },
        gyro: { ...quiet.gyro, rate: 1000 },
        clock: { offset: 0, skew: 0 },
        trajectory: { shape: "circle", plane: "xy", radius: 0.06, speed: 0.25, cycles: 3, rampIn: 0 },
      }),
      17,
    );
    const pose = signalOf(flight, "vehicle_pose");
    const gyro = signalOf(flight, "vehicle_rate");
    const base = Number(pose.stamped!.epoch - gyro.stamped!.epoch) / 1e9;
    const q = ["qx", "qy", "qz", "qw"].map((name) => pose.columns[name]!);
    let worst = 0;
    let square = 0;
    let j = 0;
    const checked = pose.columns.x!.length - 2;
    for (let i = 1; i <= checked; i++) {
      const t = base + pose.stamped!.seconds[i]!;
      while (j < gyro.stamped!.seconds.length - 2 && gyro.stamped!.seconds[j + 1]! <= t) j++;
      const part = (t - gyro.stamped!.seconds[j]!) / (gyro.stamped!.seconds[j + 1]! - gyro.stamped!.seconds[j]!);
      if (part < 0 || part > 1) continue;
      const h = pose.stamped!.seconds[i + 1]! - pose.stamped!.seconds[i - 1]!;
      const d = q.map((column) => (column[i + 1]! - column[i - 1]!) / h);
      const [x, y, z, w] = q.map((column) => column[i]!) as [number, number, number, number];
      const [dx, dy, dz, dw] = d as [number, number, number, number];
      const fromAttitude = [
        2 * (w * dx - x * dw - y * dz + z * dy),
        2 * (w * dy - y * dw - z * dx + x * dz),
        2 * (w * dz - z * dw - x * dy + y * dx),
      ];
      ["wx", "wy", "wz"].forEach((name, axis) => {
        const column = gyro.columns[name]!;
        const rate = column[j]! * (1 - part) + column[j + 1]! * part;
        worst = Math.max(worst, Math.abs(rate - fromAttitude[axis]!));
        square += rate * rate;
      });
    }
    const rms = Math.sqrt(square / (3 * checked));
    expect(rms).toBeGreaterThan(0.01);
    // central difference over 2 ms of motion with 0.25 s air: the curvature left is below 1 % of the rms
    expect(worst / rms).toBeLessThan(0.01);
  });
});

test("at take-off the vehicle stands on the ground, rises along z and hovers at the setpoint", () => {
  const flight = simulateFlight(flightSettings({ ...stillAir, timeline: { takeOff: true } }), 2);
  const { columns } = signalOf(flight, "vehicle_pose");
  const [start, end] = flight.truth.timeline.climb;
  const at = (t: number): number => Math.floor(t * 100);
  expect(columns.z![at(start - 0.5)]).toBe(0);
  expect(columns.z![at(end + 0.5)]).toBeCloseTo(1.5, 9);
  expect(columns.x![at(end + 0.5)]).toBeCloseTo(columns.x![0]!, 9);
  expect(signalOf(flight, "vehicle_setpoint").columns.z![0]).toBe(0);
});

test("the same settings and seed give the same flight to the last bit, another seed another", () => {
  const settings = flightSettings({ trajectory: { shape: "hold", duration: 5 } });
  const first = simulateFlight(settings, 9);
  expect(simulateFlight(settings, 9)).toEqual(first);
  expect(simulateFlight(settings, 10).signals[0]!.columns.x).not.toEqual(first.signals[0]!.columns.x);
});

test("switching the gyro's noise off leaves the poses as they were", () => {
  const settings = flightSettings({ trajectory: { shape: "hold", duration: 5 } });
  const calm = flightSettings({ gyro: { noise: 0 } }, settings);
  expect(signalOf(simulateFlight(calm, 9), "vehicle_pose")).toEqual(
    signalOf(simulateFlight(settings, 9), "vehicle_pose"),
  );
});

test("the twin is the flight without air: their difference does not know the arm", () => {
  const still = flightSettings({ arm: { movingMass: 1e-9 }, between: { arm: 0, gain: 0 } });
  const heavy = flightSettings({ arm: { movingMass: 0.7 }, between: { arm: 0, gain: 0 } });
  const gap = (settings: typeof still): number[] => {
    const { full, twin } = fly(settings, timelineOf(settings), 6);
    return [20, 25.1, 31.7].map((t) => full.at(t).position[1] - twin.at(t).position[1]);
  };
  // linear plant: superposition to rounding
  gap(heavy).forEach((value, i) => {
    expect(value).toBeCloseTo(gap(still)[i]!, 13);
  });
});
