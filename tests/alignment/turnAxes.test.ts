import { describe, expect, test } from "vitest";
import { turnAxes, turnRates } from "../../src/alignment/heading.ts";
import type { PoseTrack } from "../../src/foundation/tracks.ts";
import { rotateVector } from "../../src/numeric/quaternion.ts";
import { evenTimes, signal } from "./signals.ts";

type Four = readonly [number, number, number, number];

function one(p: readonly [number, number, number], q: Four): PoseTrack {
  const [x, y, z] = p.map((value) => Float64Array.of(value)) as [Float64Array, Float64Array, Float64Array];
  const [qx, qy, qz, qw] = q.map((value) => Float64Array.of(value)) as [
    Float64Array,
    Float64Array,
    Float64Array,
    Float64Array,
  ];
  return { t: Float64Array.of(0), x, y, z, qx, qy, qz, qw };
}
const positionOf = ({ x, y, z }: PoseTrack): number[] => [x[0]!, y[0]!, z[0]!];
const attitudeOf = ({ qx, qy, qz, qw }: PoseTrack): Four => [qx[0]!, qy[0]!, qz[0]!, qw[0]!];
const half = Math.SQRT1_2;

/** Where the body's own axes point in the world, rounded. */
function pointing(track: PoseTrack): number[][] {
  const axes = [
    [1, 0, 0],
    [0, 1, 0],
    [0, 0, 1],
  ] as const;
  // + 0: no -0
  return axes.map((axis) => rotateVector(attitudeOf(track), axis).map((value) => Math.round(value * 1e9) / 1e9 + 0));
}

// by hand, from the definitions of the axes (REP 103): x east, y north, z up; body x forward, y left, z up
describe("north, east, down with a body forward, right, down", () => {
  const ned = { world: "ned", body: "frd" } as const;

  test("a place 1 m north, 2 m east, 3 m down is 2 m along x, 1 m along y, 3 m below", () => {
    const found = positionOf(turnAxes(one([1, 2, 3], [0, 0, 0, 1]), ned));
    for (const [k, value] of [2, 1, -3].entries()) expect(found[k]).toBeCloseTo(value, 12);
  });

  test("level and heading north: forward is y, left is -x, up is z", () => {
    expect(pointing(turnAxes(one([0, 0, 0], [0, 0, 0, 1]), ned))).toEqual([
      [0, 1, 0],
      [-1, 0, 0],
      [0, 0, 1],
    ]);
  });

  test("heading east, a quarter turn about down: forward is x", () => {
    expect(pointing(turnAxes(one([0, 0, 0], [0, 0, half, half]), ned))).toEqual([
      [1, 0, 0],
      [0, 1, 0],
      [0, 0, 1],
    ]);
  });

  test("heading north with the nose up by a quarter turn about right: forward is up, up is south", () => {
    expect(pointing(turnAxes(one([0, 0, 0], [0, half, 0, half]), ned))).toEqual([
      [0, 0, 1],
      [-1, 0, 0],
      [0, -1, 0],
    ]);
  });
});

test("forward, right, down fixed to the ground keeps x: half a turn about it", () => {
  const turned = turnAxes(one([1, 2, 3], [0, 0, 0, 1]), { world: "frd", body: "frd" });
  expect(positionOf(turned)).toEqual([1, -2, -3]);
  expect(pointing(turned)).toEqual([
    [1, 0, 0],
    [0, 1, 0],
    [0, 0, 1],
  ]);
});

test("a gap in a command stays one", () => {
  const turned = turnAxes(one([Number.NaN, 2, 3], [0, 0, 0, 1]), { world: "ned", body: "frd" });
  expect(positionOf(turned).some(Number.isNaN)).toBe(true);
});

test("rates turn with the body; where nothing is declared the signal itself is handed on", () => {
  const at = evenTimes(10, 1);
  const rates = signal({
    signal: "vehicle_rate",
    at,
    columns: { wx: at.map(() => 1), wy: at.map(() => 2), wz: at.map(() => 3) },
  });
  const { columns } = turnRates(rates, { world: "enu", body: "frd" });
  expect([columns.wx![0], columns.wy![0], columns.wz![0]]).toEqual([1, -2, -3]);
  expect(turnRates(rates, null)).toBe(rates);
});
