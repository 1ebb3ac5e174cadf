import { describe, expect, test } from "vitest";
import { permutationBins } from "../../server/answers/cellAnswer.ts";
import { runValues } from "../../src/comparison/cellRuns.ts";
import { permutationTest } from "../../src/comparison/permutationTest.ts";

/** As many runs of both, in two blocks where asked for; values by a fixed recipe, the candidate's lower. */
const flown = (each: number, blocks: number) =>
  runValues(
    Array.from({ length: 2 * each }, (_, i) => ({
      value: 0.01 + 0.003 * Math.sin(12.9 * i * i) - (i % 2) * 0.001,
      candidate: i % 2 === 1,
      block: String(Math.floor((i * blocks) / (2 * each))),
    })),
  );

const sum = (values: readonly number[]): number => values.reduce((total, value) => total + value, 0);

describe("the permutation distribution as a histogram", () => {
  test.each([
    ["every arrangement of 4 v 4", flown(4, 1), "welch", true],
    ["every arrangement of two blocks of 3 + 3", flown(6, 2), "blocked", true],
    ["drawn arrangements of 12 v 12", flown(12, 1), "welch", false],
  ] as const)("%s: each counted once, the extreme ones outside the one flown", (_, runs, method, exact) => {
    const result = permutationTest(runs, method, { exactUpTo: 5000, drawn: 3000, seed: 7 });
    expect(result.exact).toBe(exact);
    const bins = permutationBins(result);
    expect(sum(bins.counts)).toBe(result.arrangements);
    // p = b/N where all were looked at, (b + 1)/(m + 1) where m were drawn
    const b = sum(bins.extreme);
    expect(exact ? b / result.arrangements : (b + 1) / (result.arrangements + 1)).toBeCloseTo(result.p, 12);
    const far = Math.abs(result.observed);
    bins.counts.forEach((count, k) => {
      const [low, high] = [bins.edges[k]!, bins.edges[k + 1]!];
      expect(high).toBeGreaterThan(low);
      const nearest = low <= 0 && high >= 0 ? 0 : Math.min(Math.abs(low), Math.abs(high));
      const farthest = Math.max(Math.abs(low), Math.abs(high));
      // a hair for arrangements that give the difference flown but for rounding
      if (nearest > far * (1 + 1e-9)) expect(bins.extreme[k]).toBe(count);
      if (farthest < far * (1 - 1e-9)) expect(bins.extreme[k]).toBe(0);
    });
  });

  test("a single arrangement gives bins that hold it", () => {
    const alone = permutationTest(
      runValues([
        { value: 0.002, candidate: false, block: "a" },
        { value: 0.001, candidate: true, block: "b" },
      ]),
      "welch",
      { exactUpTo: 100, drawn: 100, seed: 1 },
    );
    const bins = permutationBins(alone);
    expect([sum(bins.counts), sum(bins.extreme)]).toEqual([1, 1]);
  });
});
