import { describe, expect, test } from "vitest";
import { CounterpoiseError } from "../../src/foundation/errors.ts";
import type { PointTrack } from "../../src/foundation/tracks.ts";
import { contourDistance } from "../../src/metrics/contourDistance.ts";
import { contourFigures } from "../../src/metrics/pathAccuracy.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { normalColumn } from "../numeric/randomColumns.ts";
import { worstDifference } from "../numeric/relativeError.ts";

const times = (n: number, step: number, from = 0): Float64Array =>
  Float64Array.from({ length: n }, (_, i) => from + i * step);

function track(t: Float64Array, at: (time: number) => readonly [number, number, number]): PointTrack {
  const points = Array.from(t, at);
  const of = (k: number): Float64Array => Float64Array.from(points, (point) => point[k]!);
  return { t, x: of(0), y: of(1), z: of(2) };
}

const circle = (radius: number, period: number) => (time: number) =>
  [0, radius * Math.cos((2 * Math.PI * time) / period), radius * Math.sin((2 * Math.PI * time) / period)] as const;

test("a circle flown 2 mm too wide and 80 ms late is 2 mm off its path, and 80 ms behind", () => {
  // a path of 400 points a turn lies up to 60 mm (1 - cos(pi / 400)) = 1.9 um inside its arc
  const path = track(times(4001, 1.5 / 400), circle(0.06, 1.5));
  const t = times(900, 0.01, 1);
  const late = track(t, (time) => circle(0.062, 1.5)(time - 0.08));
  const contour = contourDistance(t, late, path, { window: 0.375 });
  for (const distance of contour.distance) expect(Math.abs(distance - 0.002)).toBeLessThan(2e-6);
  // the foot wanders within a chord of 3.75 ms by its own sagitta's slope only
  for (const behind of contour.behind) expect(Math.abs(behind - 0.08)).toBeLessThan(1e-3);
  const figures = contourFigures(contour)!;
  expect(Math.abs(figures.rms - 0.002)).toBeLessThan(2e-6);
  // half of the square on either axis over whole turns: 9 s are six of them
  expect(Math.abs(figures.y - 0.002 / Math.SQRT2)).toBeLessThan(2e-5);
  expect(figures.x).toBe(0);
  expect(figures.edge_share).toBe(0);
});

test("being late alone is no contour error: along a straight line there and back, by hand", () => {
  const line = (time: number) => [0.075 * Math.sin(2 * Math.PI * 0.5 * time), 0, 0] as const;
  const path = track(times(2001, 0.005), line);
  const t = times(700, 0.01, 1.5);
  const contour = contourDistance(
    t,
    track(t, (time) => line(time - 0.1)),
    path,
    { window: 0.5 },
  );
  // on the line everywhere, so 0 but for rounding
  expect(Math.max(...contour.distance)).toBeLessThan(1e-15);
  // near the turns the way back is as near, and nearer in time; elsewhere it is the 100 ms it was late
  expect(Math.abs(contourFigures(contour)!.behind - 0.1)).toBeLessThan(1e-3);
});

describe("the window", () => {
  // a figure of eight that crosses itself in its middle: half a period apart the same place is passed in another direction
  const eight = (time: number) => [0.1 * Math.sin(2 * Math.PI * time), 0.05 * Math.sin(4 * Math.PI * time), 0] as const;
  const path = track(times(3001, 0.001), eight);

  test("keeps the branches of a self-crossing path apart", () => {
    // at t = 1 the path is told to be in the crossing; the point stands 10 mm along the other branch's direction
    const direction = [0.1 * 2 * Math.PI * -1, 0.05 * 4 * Math.PI];
    const size = Math.hypot(...direction);
    const point = track(Float64Array.of(1), () => [(0.01 * direction[0]!) / size, (0.01 * direction[1]!) / size, 0]);
    const apart = contourDistance(point.t, point, path, { window: 0.25 });
    const mixed = contourDistance(point.t, point, path, { window: 0.6 });
    // the branches cross at a right angle (slopes 1 and -1), so the other one is no help: all of the 10 mm, less curvature
    expect(Math.abs(apart.distance[0]! - 0.01)).toBeLessThan(2e-4);
    expect(mixed.distance[0]!).toBeLessThan(5e-5);
  });

  test("a point that is nearest to the end of what was searched is counted", () => {
    const line = track(times(101, 0.1), (time) => [time, 0, 0]);
    const t = Float64Array.of(5);
    const contour = contourDistance(
      t,
      track(t, () => [3, 0.1, 0]),
      line,
      { window: 0.5 },
    );
    expect(contour.behind[0]).toBeCloseTo(0.5, 12);
    expect(contour.distance[0]).toBeCloseTo(Math.hypot(1.5, 0.1), 12);
    expect(contour.atEdge).toBe(1);
    expect(contourFigures(contour)!.edge_share).toBe(1);
  });
});

test("the skipping search finds what the slow one finds: random walks with rests and stretches not commanded", () => {
  for (let seed = 1; seed <= 20; seed++) {
    const random = seededRandom(seed);
    const n = 300;
    let [x, y, z] = [0, 0, 0];
    const path = track(times(n, 0.02), (time) => {
      const i = Math.round(time / 0.02);
      if (i % 50 >= 10) {
        x += 0.01 * random.normal();
        y += 0.01 * random.normal();
        z += 0.01 * random.normal();
      }
      return i % 97 === 60 ? [Number.NaN, Number.NaN, Number.NaN] : [x, y, z];
    });
    const t = times(150, 0.0391, 0.05);
    const off = [1, 2, 3].map((k) => normalColumn(100 * seed + k, 150, 0, 0.03));
    const measured = track(t, (time) => {
      const i = Math.round((time - 0.05) / 0.0391);
      const k = Math.min(n - 1, Math.round(time / 0.02));
      const [px, py, pz] = [path.x[k]!, path.y[k]!, path.z[k]!].map((v) => (Number.isNaN(v) ? 0 : v));
      return [px! + off[0]![i]!, py! + off[1]![i]!, pz! + off[2]![i]!];
    });
    const window = 0.5;
    const expected = Array.from(t, (time, i) =>
      slowly(path, time, window, [measured.x[i]!, measured.y[i]!, measured.z[i]!]),
    );
    const found = contourDistance(t, measured, path, { window });
    const distances = expected.map(({ distance }) => distance);
    expect(worstDifference(found.distance, distances), `seed ${seed}`).toBeLessThan(1e-12);
    // of feet that are alike, as all those of a rest, the one nearest in time
    expected.forEach(({ behind }, i) => {
      expect(Math.abs(Math.abs(found.behind[i]!) - behind), `seed ${seed} sample ${i}`).toBeLessThan(1e-9);
    });
    expect(
      worstDifference(
        found.distance,
        found.x.map((value, i) => Math.hypot(value, found.y[i]!, found.z[i]!)),
      ),
    ).toBeLessThan(1e-12);
  }
});

/**
 * Every segment, cut to the window, one after the other: the least distance, and how far away in time the foot nearest in time
 * is among those as near to a tie (1e-9 square metres).
 */
function slowly(
  path: PointTrack,
  time: number,
  window: number,
  point: readonly [number, number, number],
): { distance: number; behind: number } {
  const feet: { square: number; apart: number }[] = [];
  for (let k = 0; k + 1 < path.t.length; k++) {
    const from = Math.max(path.t[k]!, time - window);
    const to = Math.min(path.t[k + 1]!, time + window);
    if (from > to) continue;
    const ends = [from, to].map((at) => {
      const part = (at - path.t[k]!) / (path.t[k + 1]! - path.t[k]!);
      return [path.x, path.y, path.z].map((column) => column[k]! + part * (column[k + 1]! - column[k]!));
    });
    const [a, b] = ends as [number[], number[]];
    if (Number.isNaN(a[0]! + b[0]!)) continue;
    const along = b.map((value, i) => value - a[i]!);
    const square = along.reduce((sum, value) => sum + value * value, 0);
    const dot = along.reduce((sum, value, i) => sum + value * (point[i]! - a[i]!), 0);
    const resting = Math.min(1, Math.max(0, (time - from) / (to - from)));
    const part = square < 1e-24 ? resting : Math.min(1, Math.max(0, dot / square));
    const off = a.map((value, i) => point[i]! - value - part * along[i]!);
    feet.push({
      square: off.reduce((sum, value) => sum + value * value, 0),
      apart: Math.abs(time - from - part * (to - from)),
    });
  }
  const least = Math.min(...feet.map(({ square }) => square));
  const alike = feet.filter(({ square }) => square < least + 1e-9);
  return { distance: Math.sqrt(least), behind: Math.min(...alike.map(({ apart }) => apart)) };
}

test("a command at rest: the distance is that from the point, and nothing is late", () => {
  const path = track(times(50, 0.1), () => [1, 2, 3]);
  const t = Float64Array.of(1.234, 2.5);
  const contour = contourDistance(
    t,
    track(t, () => [1.003, 2, 3.004]),
    path,
    { window: 0.3 },
  );
  expect(worstDifference(contour.distance, [0.005, 0.005])).toBeLessThan(1e-15);
  expect(worstDifference(contour.behind, [0, 0])).toBeLessThan(1e-12);
});

test("a sample with nothing commanded around it is refused, and no sample has no figures", () => {
  const path = track(times(10, 0.1), () => [1, 2, 3]);
  const t = Float64Array.of(5);
  expect(() =>
    contourDistance(
      t,
      track(t, () => [0, 0, 0]),
      path,
      { window: 0.3 },
    ),
  ).toThrow(CounterpoiseError);
  const none = contourDistance(
    new Float64Array(0),
    track(new Float64Array(0), () => [0, 0, 0]),
    path,
    { window: 0.3 },
  );
  expect(contourFigures(none)).toBeNull();
});
