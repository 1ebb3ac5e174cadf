import fc from "fast-check";
import { expect, test } from "vitest";
import { bandExtent, bandPath, bandPaths, gapsOf } from "../../client/figures/bandPath.ts";
import { polylinePath } from "../../client/figures/pathFigure.ts";
import { brokenLine } from "../../client/figures/phaseFigure.ts";
import type { SeriesAnswer } from "../../src/contract/api/runAnswers.ts";

type Stretch = SeriesAnswer["stretches"][number];

/** Points of each subpath; every drawn line lies between two points of one. */
function subpaths(path: string): [number, number][][] {
  return path
    .split("M")
    .filter((part) => part !== "")
    .map((part) =>
      part
        .replace(/Z|h0/g, "")
        .split("L")
        .map((point) => point.split(",").map(Number) as [number, number]),
    );
}

function stretch(columns: readonly (readonly [number, number, number, number])[]): Stretch {
  const extremes = { low: columns.map((c) => c[2]), high: columns.map((c) => c[3]) };
  return {
    start: columns.map((c) => c[0]),
    end: columns.map((c) => c[1]),
    x: extremes,
    y: extremes,
    z: extremes,
    norm: extremes,
  };
}

const anyStretches = fc
  .array(
    fc.array(
      fc.record({
        long: fc.constantFrom(0, 0.2, 0.5),
        step: fc.double({ min: 0.1, max: 0.5, noNaN: true }),
        a: fc.double({ min: -9, max: 9, noNaN: true }),
        b: fc.double({ min: -9, max: 9, noNaN: true }),
      }),
      { minLength: 1, maxLength: 6 },
    ),
    { minLength: 1, maxLength: 5 },
  )
  .map((parts) => {
    let t = 0;
    return parts.map((columns) => {
      t += 5;
      return stretch(
        columns.map(({ long, step, a, b }) => {
          t += step;
          const start = t;
          t += long;
          return [start, t, Math.min(a, b), long === 0 ? Math.min(a, b) : Math.max(a, b)] as const;
        }),
      );
    });
  });

test("no subpath of a drawn error reaches beyond its own stretch: nothing is drawn across a gap", () => {
  fc.assert(
    fc.property(anyStretches, (stretches) => {
      const { bands, lines } = bandPaths(
        stretches,
        "x",
        (t) => t,
        (v) => v,
      );
      const drawn = [...subpaths(bands), ...subpaths(lines)];
      expect(drawn.length).toBe(stretches.length);
      for (const points of drawn) {
        const times = points.map(([t]) => t);
        const home = stretches.filter(
          ({ start, end }) =>
            Math.min(...times) >= start[0]! - 0.006 && Math.max(...times) <= end[end.length - 1]! + 0.006,
        );
        expect(home.length).toBe(1);
      }
    }),
    { seed: 4, numRuns: 300 },
  );
});

test("the drawn lowest and highest of every stretch are the served ones", () => {
  fc.assert(
    fc.property(anyStretches, (stretches) => {
      for (const one of stretches) {
        const [points] = subpaths(
          bandPath(
            one,
            "y",
            (t) => t,
            (v) => v,
          ),
        );
        const values = points!.map(([, value]) => value);
        // written to hundredths of a pixel
        expect(Math.abs(Math.min(...values) - Math.min(...one.y.low))).toBeLessThan(0.0051);
        expect(Math.abs(Math.max(...values) - Math.max(...one.y.high))).toBeLessThan(0.0051);
      }
      expect(bandExtent(stretches, ["x"])).toEqual([
        Math.min(...stretches.flatMap(({ x }) => x.low)),
        Math.max(...stretches.flatMap(({ x }) => x.high)),
      ]);
    }),
    { seed: 5, numRuns: 200 },
  );
});

test("samples become a line, columns a closed band, a lone sample a dot", () => {
  const same = (t: number): number => t;
  const samples = stretch([
    [0, 0, 1, 1],
    [1, 1, 2, 2],
  ]);
  expect(bandPath(samples, "x", same, same)).toBe("M0.00,1.00L1.00,2.00");
  expect(bandPath(stretch([[0, 1, -1, 2]]), "x", same, same)).toBe("M0.00,2.00L1.00,2.00L1.00,-1.00L0.00,-1.00Z");
  expect(bandPath(stretch([[3, 3, 4, 4]]), "x", same, same)).toBe("M3.00,4.00h0");
  expect(bandExtent([], ["x"])).toBeNull();
});

test("gaps lie between stretches, and at an end of the window only where it lies within one", () => {
  const even = (from: number, count: number): Stretch =>
    stretch(Array.from({ length: count }, (_, k) => [from + k, from + k, 0, 0] as const));
  const stretches = [even(0, 5), even(20, 5)];
  expect(gapsOf({ stretches, window: [0, 25] }, 2.5)).toEqual([[4, 20]]);
  expect(gapsOf({ stretches, window: [-10, 40] }, 2.5)).toEqual([
    [-10, 0],
    [4, 20],
    [24, 40],
  ]);
  expect(gapsOf({ stretches: [], window: [3, 9] }, 2.5)).toEqual([[3, 9]]);
});

test("a bin without samples parts the line over cycle phase, a lone bin is a dot", () => {
  expect(brokenLine([[0, 0], [1, 1], null, [3, 3], null, null, [6, 6], [7, 7]])).toBe(
    "M0.00,0.00L1.00,1.00M3.00,3.00h0M6.00,6.00L7.00,7.00",
  );
  expect(brokenLine([null, null])).toBe("");
});

test("a path's polylines are drawn apart", () => {
  const line = (x: number[]): SeriesAnswer["path"]["measured"][number] => ({ t: x, x, y: x, z: x.map((v) => -v) });
  const path = polylinePath(
    [line([0, 1]), line([]), line([5])],
    { across: "x", up: "z" },
    (v) => v,
    (v) => v,
  );
  expect(path).toBe("M0.00,0.00L1.00,-1.00M5.00,-5.00h0");
});
