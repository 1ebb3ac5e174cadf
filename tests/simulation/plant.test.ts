import { describe, expect, test } from "vitest";
import { flightSettings } from "../../src/simulation/flightSettings.ts";
import type { FlightChanges } from "../../src/simulation/flightShape.ts";
import { plant, state, stateCount } from "../../src/simulation/plant.ts";
import { discretize, propagate } from "../../src/simulation/propagate.ts";
import { simulateFlight } from "../../src/simulation/simulateFlight.ts";
import { stillAir } from "../support/stillAir.ts";
import { magnitude, responseToArm } from "./closedForm.ts";

const step = 1 / 250;
const off = { frequency: 0, damping: 0, integral: 0 };
const noInputs = [null, null, null, null, null, null];

/** Answer of one state to a travel commanded along one axis. */
function answer(changes: FlightChanges, axis: number, place: number, command: (t: number) => number, seconds: number) {
  const count = Math.round(seconds / step);
  const input = Float64Array.from({ length: count }, (_, i) => command(i * step));
  const inputs = [null, null, null, ...noInputs].map((none, i) => (i === axis ? input : none));
  const states = propagate(discretize(plant(flightSettings(changes)), step), inputs, { count });
  return (i: number, other = place): number => states[i * stateCount + other]!;
}

describe("momentum", () => {
  // Check value: base 1.8 kg, arm mass 0.2 kg moved 0.3 m relative to the base moves the base by -0.03 m and leaves the
  // common centre of mass where it was (conservation of momentum). 1e-12 m: rounding over 2500 steps.
  const free: FlightChanges = {
    vehicle: {
      mass: 2,
      // no turning, so that gravity's moment on the shifted mass does not tilt the thrust
      inertia: [1e18, 1e18, 1e18],
      horizontalLoop: off,
      verticalLoop: off,
      attitudeLoop: off,
      yawLoop: off,
    },
    arm: { movingMass: 0.2, massFraction: 1, centre: [0.1, 0, -0.2] },
  };
  test.each([
    ["x", 0, state.x],
    ["y", 1, state.y],
    ["z", 2, state.z],
  ])("a free base of 1.8 kg goes back 0.03 m along %s when 0.2 kg go out 0.3 m", (_, axis, place) => {
    const at = answer(free, axis, place, (t) => (t > 0 ? 0.3 : 0), 10);
    expect(at(2499, state.tool + axis)).toBeCloseTo(0.3, 12);
    expect(at(2499)).toBeCloseTo(-0.03, 12);
    for (const i of [20, 60, 130]) {
      expect(Math.abs(at(i))).toBeGreaterThan(1e-3);
      expect(Math.abs(at(i) + 0.1 * at(i, state.tool + axis))).toBeLessThan(1e-12);
    }
  });

  test("counterweights that carry the whole first moment back keep a free base at rest", () => {
    const at = answer(
      { ...free, counterweights: [{ mass: 0.4, at: [0, 0, 0] }], balance: [0, 0, 1] },
      2,
      state.z,
      (t) => (t > 0 ? 0.3 : 0),
      4,
    );
    expect(at(999, state.tool + 2)).toBeCloseTo(0.3, 9);
    expect(Math.abs(at(999))).toBeLessThan(1e-14);
  });
});

describe("the closed loop under a sinusoidal arm", () => {
  const changes: FlightChanges = {
    ...stillAir,
    counterweights: [
      { mass: 0.3, at: [-0.14, 0, 0.03] },
      { mass: 0.2, at: [-0.1, 0.05, -0.02] },
    ],
    balance: [0.6, 0.3, 0.1],
  };
  // The input is a sine in straight pieces of 4 ms: it lacks (omega step)^2 / 12 = 2e-5 of its amplitude; limit 1e-4.
  test.each([
    ["x", 0, state.x, 1.9],
    ["y", 1, state.y, 1.508],
    ["z", 2, state.z, 0.9],
    ["pitch by x", 0, state.x + 3, 1.9],
    ["pitch by z", 2, state.x + 3, 1.3],
    ["yaw by y", 1, state.yaw, 1.1],
  ])("answers along %s as the transfer function written out by hand says", (name, axis, place, period) => {
    const settings = flightSettings(changes);
    const omega = (2 * Math.PI) / period;
    const at = answer(changes, axis, place, (t) => 0.05 * Math.cos(omega * t), 60);
    let re = 0;
    let im = 0;
    // whole periods of the last 20 s: steps need not fit the period, so the sum over them is by least squares
    const count = Math.floor((20 / period) * 1) * period;
    let cc = 0;
    let cs = 0;
    let ss = 0;
    for (let i = Math.round(60 / step) - Math.round(count / step); i < Math.round(60 / step); i++) {
      const c = Math.cos(omega * i * step);
      const s = Math.sin(omega * i * step);
      cc += c * c;
      cs += c * s;
      ss += s * s;
      re += at(i) * c;
      im += at(i) * s;
    }
    const determinant = cc * ss - cs * cs;
    const cosine = (re * ss - im * cs) / determinant;
    const sine = (im * cc - re * cs) / determinant;
    const expected = responseToArm(settings, omega, axis, name);
    const size = 0.05 * magnitude(expected);
    expect(size).toBeGreaterThan(1e-6);
    // x(t) = Re(X exp(j omega t)): cosine Re X, sine -Im X
    expect(Math.hypot(cosine - 0.05 * expected.re, sine + 0.05 * expected.im) / size).toBeLessThan(1e-4);
  });

  test("gives a flight's true harmonics, once its ramp-in is over", () => {
    const settings = flightSettings({
      ...changes,
      commandRate: 500,
      arm: { curvature: 0 },
      trajectory: { shape: "circle", plane: "yz", radius: 0.06, speed: 0.25, cycles: 8, rampIn: 24 },
    });
    const { truth } = simulateFlight(settings, 5);
    const omega = (2 * Math.PI) / truth.period;
    const phase = omega * settings.arm.transportDelay;
    // y: gain x 60 mm cos theta, late by the transport delay; z: sine, a quarter turn behind. What is left of the ramp
    // when it ends decays with the integrator (0.6 1/s) and is 1/(2 pi 24) of the amplitude at most at its end: 0.5 %.
    for (const [axis, name, behind] of [
      [1, "y", 0],
      [2, "z", Math.PI / 2],
    ] as const) {
      const unit = responseToArm(settings, omega, axis, name);
      const angle = Math.atan2(unit.im, unit.re) - phase - behind;
      const size = 0.06 * settings.arm.gain[axis]! * magnitude(unit);
      const found = truth.synchronous!.vehicle[name];
      expect(
        Math.hypot(found.cos[0]! - size * Math.cos(angle), found.sin[0]! + size * Math.sin(angle)) / size,
      ).toBeLessThan(0.005);
    }
  });
});

test("full counterbalance at the arm's own place takes the first harmonic out of the vehicle", () => {
  const arm = flightSettings().arm;
  const { truth } = simulateFlight(
    flightSettings({ ...stillAir, counterweights: [{ mass: 0.5, at: arm.centre }], balance: [1, 1, 1] }),
    3,
  );
  const bare = simulateFlight(flightSettings(stillAir), 3).truth;
  expect(Math.abs(bare.synchronous!.vehicle.y.cos[0]!)).toBeGreaterThan(1e-4);
  for (const axis of ["x", "y", "z"] as const)
    for (const k of [0, 1, 2, 3, 4]) {
      expect(Math.abs(truth.synchronous!.vehicle[axis].cos[k]!)).toBeLessThan(1e-14);
      expect(Math.abs(truth.synchronous!.vehicle[axis].sin[k]!)).toBeLessThan(1e-14);
    }
  // what is left at the effector is the arm's own error; 1e-6 m covers the different clocking of float sums
  expect(truth.synchronous!.effector.y.cos[0]!).toBeCloseTo(truth.synchronous!.arm.y.cos[0]!, 9);
});
