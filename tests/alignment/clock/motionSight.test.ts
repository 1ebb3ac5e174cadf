import { describe, expect, test } from "vitest";
import {
  aboutVertical,
  type MotionSight,
  sightOfAttitude,
  sightOfPosition,
  sightOfRate,
  sightWithin,
} from "../../../src/alignment/clock/motionSight.ts";
import { gridRates } from "../../../src/alignment/clock/rateGrid.ts";
import { describeWith } from "../../support/available.ts";
import { runPython } from "../../support/run.ts";
import { evenTimes, expectNear, noisyFlight, poses, turn } from "../signals.ts";
import { bandLimited, seen } from "./motion.ts";

describe("sight of an attitude", () => {
  test("0 to 170 degrees in ten equal steps is 17 degrees each", () => {
    // reference value 2.6 of the project's list: constant rate, by hand
    const axis = [0.48, 0.6, 0.64] as const;
    const t = evenTimes(10, 1.1);
    const { integrals } = sightOfAttitude(
      poses(t, (_t, i) => ({ p: [0, 0, 0], q: turn(axis, (17 * i * Math.PI) / 180) })),
      0.25,
    );
    for (let i = 1; i <= 10; i++) {
      axis.forEach((share, a) => {
        const step = ((integrals[a]![i]! - integrals[a]![i - 1]!) * 180) / Math.PI;
        expect(Math.abs(step - 17 * share)).toBeLessThan(1e-9);
      });
    }
  });

  test("a constant rate integrates to rate times time over many turns, however the samples are spaced", () => {
    const t = Float64Array.from({ length: 500 }, (_, i) => 0.01 * i + 0.004 * Math.sin(i));
    const { integrals } = sightOfAttitude(
      poses(t, (time) => ({ p: [0, 0, 0], q: turn([0, 0.6, 0.8], 5 * time) })),
      0.05,
    );
    t.forEach((time, i) => {
      const angle = 5 * (time - t[0]!);
      // 500 sums of steps of 0.05 rad, each exact to 1e-15
      expect(Math.abs(integrals[1][i]! - 0.6 * angle)).toBeLessThan(1e-11);
      expect(Math.abs(integrals[2][i]! - 0.8 * angle)).toBeLessThan(1e-11);
      expect(Math.abs(integrals[0][i]!)).toBeLessThan(1e-11);
    });
  });

  test("the signs of its quaternions do not matter", () => {
    const flight = noisyFlight(161, 100, 2);
    const sign = flight.t.map((_, i) => (i % 3 === 1 ? -1 : 1));
    const mixed = Object.fromEntries(
      (["qx", "qy", "qz", "qw"] as const).map((name) => [name, flight[name].map((value, i) => value * sign[i]!)]),
    );
    expect(sightOfAttitude({ ...flight, ...mixed }, 0.05)).toEqual(sightOfAttitude(flight, 0.05));
  });

  test("a pose that repeats has turned by nothing", () => {
    const still = poses(evenTimes(10, 1), () => ({ p: [0, 0, 0], q: turn([0, 0, 1], 1) }));
    sightOfAttitude(still, 0.5).integrals.forEach((column) => {
      for (const value of column) expect(Math.abs(value)).toBeLessThan(1e-15);
    });
  });
});

describeWith(["scipy"], "sight of an attitude against scipy", () => {
  test("each step is the rotation vector of the relative rotation, seen from the body", () => {
    const flight = noisyFlight(162, 20, 5);
    const steps = runPython<number[][]>(
      `
import json, sys, numpy
from scipy.spatial.transform import Rotation
r = Rotation.from_quat(json.load(sys.stdin))
print(json.dumps((r[:-1].inv() * r[1:]).as_rotvec().tolist()))`,
      [...flight.t].map((_, i) => [flight.qx[i], flight.qy[i], flight.qz[i], flight.qw[i]]),
    );
    const { integrals } = sightOfAttitude(flight, 1);
    for (const axis of [0, 1, 2] as const) {
      const ours = integrals[axis].slice(1).map((value, i) => value - integrals[axis][i]!);
      // steps of hundredths of a radian from products of unit quaternions: 1e-16 each, summed a hundred times
      expectNear(
        ours,
        steps.map((step) => step[axis]!),
        1e-14,
      );
    }
  });
});

test("a gyro's integral is the trapezoid rule's", () => {
  const t = Float64Array.of(0, 1, 3);
  const { integrals } = sightOfRate(t, [Float64Array.of(0, 2, 4), Float64Array.of(1, 1, 1), new Float64Array(3)], 1.5);
  expect(integrals.map((column) => [...column])).toEqual([
    [0, 1, 7],
    [0, 1, 3],
    [0, 0, 0],
  ]);
});

test("a position is its own velocity's integral; a step longer than the longest is a break", () => {
  const track = poses(Float64Array.of(0, 0.1, 0.2, 0.7, 0.8), (t) => ({ p: [t, 2 * t, 0] }));
  const sight = sightOfPosition(track, 0.35);
  expect(sight.integrals[1]).toEqual(track.y);
  expect([...sight.breaks]).toEqual([0, 0, 0, 1, 0]);
});

describe("a part of a sight", () => {
  // a tenth of a second apart but for a gap; no two integrals alike
  const t = Float64Array.of(1, 1.1, 1.2, 1.9, 2, 2.1);
  const whole = sightOfPosition(
    poses(t, (time) => ({ p: [time, 10 * time, 100 * time] })),
    0.35,
  );
  const listed = ({ t: at, integrals, breaks }: MotionSight) => [at, ...integrals, breaks].map((column) => [...column]);

  test("holds the samples from one instant to another, both included, each with its own integrals and breaks", () => {
    const instants = [1.1, 1.2, 1.9, 2];
    const own = [instants, instants, instants.map((at) => 10 * at), instants.map((at) => 100 * at), [0, 0, 1, 0]];
    expect(listed(sightWithin(whole, 1.1, 2))).toEqual(own);
    // between samples
    expect(listed(sightWithin(whole, 1.05, 2.05))).toEqual(own);
    expect(sightWithin(whole, 3, 4).t.length).toBe(0);
  });

  test("is the sight itself where all of it lies within", () => {
    expect(sightWithin(whole, 1, 2.1)).toBe(whole);
  });

  test("about the vertical keeps instants, breaks and the third integral alone", () => {
    const zeros = [0, 0, 0, 0, 0, 0];
    const [at, , , z, breaks] = listed(whole);
    expect(listed(aboutVertical(whole))).toEqual([at, zeros, zeros, z, breaks]);
  });
});

describe("rates on an even grid", () => {
  test("a constant rate is that rate wherever it is known, however the samples are spaced", () => {
    const t = Float64Array.from({ length: 600 }, (_, i) => 0.01 * i + 0.004 * Math.sin(i));
    const grid = gridRates(
      { t, integrals: [t.map((x) => 3 * x), t, t.map(() => 1)], breaks: new Uint8Array(600) },
      0.01,
      0.04,
    );
    let known = 0;
    grid.known.forEach((flag, i) => {
      if (flag === 0) return;
      known++;
      // running sums of 600 numbers of size 3
      expect(Math.abs(grid.rates[0][i]! - 3)).toBeLessThan(1e-11);
      expect(Math.abs(grid.rates[1][i]! - 1)).toBeLessThan(1e-11);
      expect(Math.abs(grid.rates[2][i]!)).toBeLessThan(1e-11);
    });
    // 6 s at 10 ms, a few points less at either end
    expect(known).toBeGreaterThan(560);
  });

  test("its points count from the first sample, whatever the epoch, in the middle of what they average", () => {
    const sight = seen(bandLimited(163), { rate: 100, from: 0.0037, to: 5 });
    const { start, step } = gridRates(sight, 0.01, 0.04);
    expect(start).toBeCloseTo(sight.t[0]! + 0.005, 12);
    expect(step).toBe(0.01);
  });

  test("a slow sine passes unshifted and hardly weakened: a Gaussian of that width says by how much", () => {
    const w = 2 * Math.PI * 0.5;
    const t = evenTimes(200, 30);
    const sine = t.map((x) => Math.sin(w * x) / w);
    const grid = gridRates({ t, integrals: [sine, sine, sine], breaks: new Uint8Array(t.length) }, 0.01, 0.04);
    let cosine = 0;
    let shifted = 0;
    let energy = 0;
    grid.known.forEach((flag, i) => {
      if (flag === 0) return;
      const at = grid.start + i * grid.step;
      cosine += grid.rates[0][i]! * Math.cos(w * at);
      shifted += grid.rates[0][i]! * Math.sin(w * at);
      energy += Math.cos(w * at) ** 2;
    });
    // transfer of a Gaussian of sd s: exp(-(w s)^2 / 2) = 0.9921; the width is rounded to whole points, whence 0.4 %
    expect(Math.abs(cosine / energy - Math.exp(-((w * 0.04) ** 2) / 2))).toBeLessThan(0.004);
    // a shift of 10 us would give 3e-5
    expect(Math.abs(shifted / energy)).toBeLessThan(1e-3);
  });

  test("around a break, and by half the smoothing more, nothing is known", () => {
    const sight = seen(bandLimited(164), { rate: 100, from: 0, to: 10 });
    const t = sight.t.map((x, i) => (i >= 500 ? x + 1 : x));
    const breaks = new Uint8Array(t.length);
    breaks[500] = 1;
    const grid = gridRates({ ...sight, t, breaks }, 0.01, 0.04);
    const unknown = [...grid.known.keys()].filter((i) => grid.known[i] === 0).map((i) => grid.start + i * grid.step);
    // the gap from 4.99 to 6.00 s and a filter's half width of about 0.1 s on either side
    for (let at = 4.95; at < 6.05; at += 0.01) expect(unknown.some((x) => Math.abs(x - at) < 0.006)).toBe(true);
    expect(unknown.filter((x) => x > 0.3 && x < 10.7).every((x) => x > 4.8 && x < 6.2)).toBe(true);
  });

  test("an empty sight, or one of a single sample, gives an empty grid", () => {
    for (const n of [0, 1]) {
      const column = new Float64Array(n);
      expect(
        gridRates({ t: column, integrals: [column, column, column], breaks: new Uint8Array(n) }, 0.01, 0.04).known
          .length,
      ).toBe(0);
    }
  });
});
