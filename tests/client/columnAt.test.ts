import fc from "fast-check";
import { expect, test } from "vitest";
import { columnAt } from "../../client/figures/bandPath.ts";
import type { SeriesAnswer } from "../../src/contract/api/runAnswers.ts";

/** stretches of columns that are 0.5 s long and 1 s apart, with 4 s between stretches; the value names the column */
function stretchesOf(counts: readonly number[]): SeriesAnswer["stretches"] {
  let t = 0;
  let name = 0;
  return counts.map((count) => {
    const start: number[] = [];
    const value: number[] = [];
    for (let k = 0; k < count; k++) {
      start.push(t++);
      value.push(name++);
    }
    t += 4;
    const extremes = { low: value, high: value };
    return { start, end: start.map((s) => s + 0.5), x: extremes, y: extremes, z: extremes, norm: extremes };
  });
}

test("the column under a pointer is the nearest of all, found the slow way", () => {
  fc.assert(
    fc.property(
      fc.array(fc.integer({ min: 0, max: 6 }), { minLength: 1, maxLength: 4 }),
      fc.double({ min: -3, max: 40, noNaN: true }),
      (counts, t) => {
        const stretches = stretchesOf(counts);
        const reach = 0.3;
        let best = Number.POSITIVE_INFINITY;
        for (const { start, end } of stretches) {
          if (start.length === 0) continue;
          // within a stretch the nearest column counts however far; beyond its ends only within reach
          if (t < start[0]! - reach || t > end[end.length - 1]! + reach) continue;
          for (const [k, s] of start.entries()) best = Math.min(best, Math.max(0, s - t, t - end[k]!));
        }
        const found = columnAt(stretches, t, reach);
        if (best === Number.POSITIVE_INFINITY) expect(found).toBeNull();
        else expect(Math.max(0, found!.start - t, t - found!.end)).toBe(best);
      },
    ),
    { seed: 8, numRuns: 500 },
  );
});

test("in a gap there is nothing to read", () => {
  const stretches = stretchesOf([3, 3]);
  expect(columnAt(stretches, 4.5, 0.3)).toBeNull();
  expect(columnAt(stretches, 1.2, 0.3)?.extremes.x).toEqual([1, 1]);
  expect(columnAt([], 1, 0.3)).toBeNull();
});
