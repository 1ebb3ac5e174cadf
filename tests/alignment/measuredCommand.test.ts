import { describe, expect, test } from "vitest";
import { buildCommandTrack } from "../../src/alignment/commandTrack.ts";
import { measuredCommand, roughnessOf, roundingOf } from "../../src/alignment/measuredCommand.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import type { PointTrack } from "../../src/foundation/tracks.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { signal } from "./signals.ts";

const seconds = 40;
const noise = (seed: number, sd: number): (() => number) => {
  const { normal } = seededRandom(seed);
  return () => sd * normal();
};

describe("roughness", () => {
  const at50 = (of: (t: number) => number): Float64Array => Float64Array.from({ length: 2000 }, (_, i) => of(i / 50));

  test("of white noise it is 0.6745 times the root of 20 standard deviations", () => {
    const draw = noise(1, 0.002);
    // third differences of white noise have variance 1 + 9 + 9 + 1; the median of 1997 correlated ones is good to some 3 %
    expect(roughnessOf(at50(draw)) / (0.6745 * Math.sqrt(20) * 0.002)).toBeCloseTo(1, 1);
  });

  test.each<[string, (t: number) => number]>([
    ["a rest", () => 1.5],
    ["a smooth path", (t) => 0.5 * Math.sin(t)],
    ["steps between waypoints", (t) => Math.floor(t / 4)],
    ["a smooth path, written to the millimetre", (t) => Math.round(500 * Math.sin(t)) / 1000],
    ["the same in single precision", (t) => Math.fround(Math.round(500 * Math.sin(t)) / 1000)],
  ])("%s has none", (_, of) => {
    expect(roughnessOf(at50(of))).toBe(0);
  });
});

test("a path logged to the centimetre is rounded; one in whole decimetres from waypoint to waypoint, at rest or with all decimals is not", () => {
  const at50 = (of: (t: number) => number): Float64Array => Float64Array.from({ length: 2000 }, (_, i) => of(i / 50));
  expect(roundingOf(at50((t) => Math.round(50 * Math.sin(t)) / 100))).toBeCloseTo(0.01, 12);
  expect(roundingOf(at50((t) => 0.1 * ((7 * Math.floor(t / 2)) % 13)))).toBe(0);
  expect(roundingOf(at50(() => 1.5))).toBe(0);
  expect(roundingOf(at50((t) => 0.5 * Math.sin(t)))).toBe(0);
});

/** Flown: a wandering path, and what the air adds that nobody commanded. */
const path = (t: number): readonly number[] => [0.5 * Math.sin(0.9 * t), 0.4 * Math.sin(1.26 * t), 0.1 * Math.sin(t)];
const air = (t: number): number => 0.004 * Math.sin(2.3 * t) + 0.003 * Math.sin(5.1 * t);

function found(command: (t: number) => readonly number[], delay: number) {
  const at = (rate: number) => Float64Array.from({ length: seconds * rate }, (_, i) => i / rate);
  const draw = noise(2, 0.0002);
  const t = at(100);
  const column = (axis: number) => t.map((time) => path(time - delay)[axis]! + air(time + axis) + draw());
  const vehicle: PointTrack = { t, x: column(0), y: column(1), z: column(2) };
  const told = at(50);
  const points = Array.from(told, command);
  const columns = Object.fromEntries(
    ["x", "y", "z"].map((name, axis) => [name, Float64Array.from(points, (point) => point[axis]!)]),
  );
  const setpoint = signal({ signal: "vehicle_setpoint", at: told, columns });
  const order = Uint32Array.from(told.keys());
  return measuredCommand(
    buildCommandTrack(setpoint, told, order, null, defaultSettings),
    vehicle,
    0.01,
    defaultSettings,
  );
}

describe("a setpoint that is a measurement", () => {
  const draw = noise(3, 0.002);
  const flown = (t: number) => path(t).map((x, axis) => x + air(t + axis) + draw());

  test("is doubted: rough, and the vehicle makes its motion at once", () => {
    const [check] = found(flown, 0);
    expect(check).toMatchObject({ code: "measured-command", severity: "doubt" });
    expect(Math.abs(check!.evidence.apart_s as number)).toBeLessThan(0.005);
  });

  test("and so is one on a clock 137 ms off: nothing of the motion is left but noise", () => {
    const [check] = found((t) => flown(t + 0.137), 0);
    expect(check!.evidence.apart_s as number).toBeCloseTo(0.137, 2);
    // 2 mm of the estimate on each of three axes
    expect(check!.evidence.left_m as number).toBeLessThan(0.004);
  });

  test("a rough command is not that is followed 0.3 s late, with air in between; nor a smooth one without any delay", () => {
    const rough = noise(4, 0.0002);
    expect(found((t) => path(t).map((x) => x + rough()), 0.3)).toEqual([]);
    expect(found(path, 0)).toEqual([]);
  });
});
