import { describe, expect, test } from "vitest";
import type { PointTrack, Window } from "../../src/foundation/tracks.ts";
import { pathAccuracy } from "../../src/metrics/pathAccuracy.ts";
import { pathSpeeds, pathVelocity } from "../../src/metrics/pathVelocity.ts";
import { planeCrossings } from "../../src/metrics/planeCrossings.ts";
import { normalColumn } from "../numeric/randomColumns.ts";
import { relativeError, worstDifference } from "../numeric/relativeError.ts";
import constructs from "../published/data/iso9283.json";

const times = (n: number, step: number, from = 0): Float64Array =>
  Float64Array.from({ length: n }, (_, i) => from + i * step);

function track(t: Float64Array, at: (time: number) => readonly [number, number, number]): PointTrack {
  const points = Array.from(t, at);
  const of = (k: number): Float64Array => Float64Array.from(points, (point) => point[k]!);
  return { t, x: of(0), y: of(1), z: of(2) };
}

const options = { points: 40, window: 0.375, longestStep: 0.025, slowest: 0.1 };
const period = 1.5;
const cyclesFrom = (start: number, count: number): Window[] =>
  Array.from({ length: count }, (_, c) => [start + c * period, start + (c + 1) * period] as const);
const circle = (radius: number) => (time: number) =>
  [0, radius * Math.cos((2 * Math.PI * time) / period), radius * Math.sin((2 * Math.PI * time) / period)] as const;

describe("constructs after ISO 9283", () => {
  test("path accuracy 0.5 and path repeatability 0.16 + 3 root(0.024 / 9)", () => {
    const { planes, lateral, accuracy, repeatability } = constructs.path;
    const [cycles, points] = [lateral.length, planes.length];
    const off = {
      cycles,
      points,
      x: new Float64Array(cycles * points),
      y: Float64Array.from(
        { length: cycles * points },
        (_, k) => planes[k % points]![0]! + lateral[Math.floor(k / points)]!,
      ),
      z: Float64Array.from({ length: cycles * points }, (_, k) => planes[k % points]![1]!),
    };
    const found = pathAccuracy(off)!;
    expect(relativeError(found.accuracy, accuracy)).toBeLessThan(1e-12);
    expect(relativeError(found.repeatability!, repeatability)).toBeLessThan(1e-12);
    expect([found.cycles, found.points, found.points_of]).toEqual([10, 5, 5]);
  });

  test("path velocity accuracy 0, repeatability 3 root(10 / 9) per cent, fluctuation 5", () => {
    const { commanded, cycleMeans, repeatabilityPercent, withinCycle, fluctuation } = constructs.velocity;
    const asked = (length: number, count: number) =>
      Array.from({ length: count }, () => new Float64Array(length).fill(commanded));
    const over = pathVelocity(
      cycleMeans.map((mean) => Float64Array.of(mean, mean)),
      asked(2, 10),
    )!;
    expect(over.accuracy).toBe(0);
    expect(relativeError(over.repeatability!, repeatabilityPercent / 100)).toBeLessThan(1e-12);
    expect(over.commanded).toBe(100);
    const within = pathVelocity(
      withinCycle.map((speeds) => Float64Array.from(speeds)),
      asked(3, 2),
    )!;
    expect(within.fluctuation).toBe(fluctuation);
  });
});

describe("crossings of a flown path", () => {
  const command = track(times(9001, period / 600), circle(0.06));
  const cycles = cyclesFrom(period, 10);

  test("a circle 2 mm too wide and late: 2 mm in every plane, whenever it gets there, and always the same", () => {
    const measured = track(times(2000, 0.01), (time) => circle(0.062)(time - 0.1));
    const found = pathAccuracy(planeCrossings(measured.t, measured, command, cycles, options))!;
    // linear between samples 10 ms apart: 62 mm (1 - cos(2 pi 0.01 / 1.5 / 2)) = 14 um inside the arc
    expect(Math.abs(found.accuracy - 0.002)).toBeLessThan(1.5e-5);
    expect(found.repeatability!).toBeLessThan(5e-5);
    expect([found.cycles, found.points]).toEqual([10, 40]);
  });

  test("cycles that lie apart by a known spread give the repeatability, by hand", () => {
    // radius 62 mm +- 0.3 mm in turn: l = 0.3 mm in all ten, so its sd is 0
    const measured = track(times(9000, 0.002), (time) =>
      circle(0.062 + (Math.floor(time / period) % 2 === 0 ? 3e-4 : -3e-4))(time),
    );
    const found = pathAccuracy(planeCrossings(measured.t, measured, command, cycles, options))!;
    expect(Math.abs(found.repeatability! - 3e-4)).toBeLessThan(5e-6);
    expect(Math.abs(found.accuracy - 0.002)).toBeLessThan(5e-6);
  });

  test("the crossing next in time is taken, not that of the way back: a line there and back, offset on each way", () => {
    const line = (time: number) => [0.075 * Math.sin((2 * Math.PI * time) / period), 0, 0] as const;
    const told = track(times(9001, period / 600), line);
    // late by 60 ms; 1 mm to the left of the way it goes
    const measured = track(times(9000, 0.002), (time) => [
      line(time - 0.06)[0],
      1e-3 * Math.sign(Math.cos((2 * Math.PI * (time - 0.06)) / period)),
      0,
    ]);
    const off = planeCrossings(measured.t, measured, told, cycles, options);
    for (let c = 0; c < 10; c++) {
      for (let p = 0; p < 40; p++) {
        const y = off.y[c * 40 + p]!;
        if (Number.isNaN(y)) continue;
        // out and back are half a cycle apart: forward in the first and last quarter
        expect(y, `cycle ${c}, point ${p}`).toBeCloseTo(p < 10 || p >= 30 ? 1e-3 : -1e-3, 12);
      }
    }
    // where the line turns the command is slow and has no direction: some points go, most stay
    const { points } = pathAccuracy(off)!;
    expect(points).toBeGreaterThanOrEqual(36);
  });

  test("a plane that is not reached in every cycle is left out, and a gap hides a crossing", () => {
    const measured = track(
      times(2000, 0.01).filter((time) => !(time > 2 * period + 0.3 && time < 2 * period + 0.5)),
      circle(0.062),
    );
    const off = planeCrossings(measured.t, measured, command, cycles, options);
    const hidden = Array.from({ length: 40 }, (_, p) => p).filter((p) => Number.isNaN(off.y[40 + p]!));
    // points at (p + 0.5) x 37.5 ms: those from 300 to 500 ms are 8 (0.30 ... is 8.0) to 12
    expect(hidden).toEqual([8, 9, 10, 11, 12]);
    expect(pathAccuracy(off)!.points).toBe(35);
  });

  test("one cycle has no repeatability, none at all has no figures", () => {
    const measured = track(times(2000, 0.01), circle(0.062));
    expect(
      pathAccuracy(planeCrossings(measured.t, measured, command, cycles.slice(0, 1), options))!.repeatability,
    ).toBeNull();
    expect(pathAccuracy(planeCrossings(measured.t, measured, command, [], options))).toBeNull();
  });
});

describe("speeds", () => {
  const at = times(100, 0.05, 2);

  test("of a straight line are exact, and have the noise that a least-squares slope has", () => {
    const line = track(times(2000, 0.005), (time) => [0.3 * time, 0.4 * time, 1]);
    const options = { along: track(at, () => [0.6, 0.8, 0]), span: 0.1, longestStep: 0.02 };
    const speeds = pathSpeeds(line.t, line, at, options);
    expect(worstDifference(speeds, new Float64Array(100).fill(0.5))).toBeLessThan(1e-12);
    const noise = normalColumn(3, 2000, 0, 2e-4);
    const rough = pathSpeeds(
      line.t,
      { ...line, x: line.x.map((v, i) => v + noise[i]! * 0.6), y: line.y.map((v, i) => v + noise[i]! * 0.8) },
      at,
      options,
    );
    // noise along the line: sd of a slope is s / root(sum of squared times), 20 samples 5 ms apart: 1.55 mm/s
    const sum = Array.from({ length: 20 }, (_, i) => ((i - 9.5) * 0.005) ** 2).reduce((a, b) => a + b, 0);
    const size = Math.sqrt(rough.reduce((total, v) => total + (v - 0.5) ** 2, 0) / 100);
    expect(relativeError(size, 2e-4 / Math.sqrt(sum))).toBeLessThan(0.25);
  });

  test("of a circle read low by (w span)^2 / 40", () => {
    const flown = track(times(2000, 0.005), circle(0.06));
    const tangent = track(at, (time) => {
      const [, y, z] = circle(1)(time);
      return [0, -z, y];
    });
    const speeds = pathSpeeds(flown.t, flown, at, { along: tangent, span: 0.2, longestStep: 0.02 });
    const expected = 0.06 * ((2 * Math.PI) / period) * (1 - ((2 * Math.PI * 0.2) / period) ** 2 / 40);
    // the next term is (w span)^4 / 4480; 40 samples for a whole span cost another 1 / 40^2
    for (const speed of speeds) expect(relativeError(speed, expected)).toBeLessThan(2e-3);
  });

  test("are not known beside a gap, at the ends and with fewer than four samples", () => {
    const t = times(400, 0.01).filter((time) => !(time > 1 && time < 1.1));
    const line = track(t, (time) => [time, 0, 0]);
    const instants = Float64Array.of(0.01, 0.5, 0.98, 1.05, 1.12, 1.3, 3.98);
    const options = { along: track(instants, () => [1, 0, 0]), span: 0.1, longestStep: 0.025 };
    const speeds = pathSpeeds(t, line, instants, options);
    expect([...speeds].map(Number.isNaN)).toEqual([true, false, true, true, true, false, true]);
    expect(pathSpeeds(t, line, instants, { ...options, span: 0.02 })[1]).toBeNaN();
  });

  test("what goes across the path is no speed along it, and a point without direction has none", () => {
    const line = track(times(2000, 0.005), (time) => [0.3 * time, 0.4 * time, 1]);
    const across = track(at, (time) => (time > 4 ? [Number.NaN, Number.NaN, Number.NaN] : [-0.8, 0.6, 0]));
    const speeds = pathSpeeds(line.t, line, at, { along: across, span: 0.1, longestStep: 0.02 });
    expect(worstDifference(speeds.subarray(0, 40), new Float64Array(40))).toBeLessThan(1e-12);
    expect([...speeds.subarray(42)].every(Number.isNaN)).toBe(true);
  });

  test("a command that stands still has no path velocity", () => {
    expect(pathVelocity([Float64Array.of(0.1, 0.2)], [Float64Array.of(0, 0)])).toBeNull();
    expect(pathVelocity([Float64Array.of(Number.NaN)], [Float64Array.of(1)])).toBeNull();
    expect(pathVelocity([], [])).toBeNull();
  });
});
