import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { RunValues } from "../../src/comparison/cellRuns.ts";
import { differenceInterval, estimateDifference } from "../../src/comparison/estimateDifference.ts";
import { groupSums } from "../../src/comparison/permutationSums.ts";
import { ratioInterval } from "../../src/comparison/ratioInterval.ts";
import { leastSquares } from "../../src/numeric/leastSquares.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { studentTQuantile } from "../../src/numeric/studentT.ts";
import { blockedRunsOf, runsOf } from "../support/runsOf.ts";

const of = (runs: RunValues) => ratioInterval(groupSums(runs), estimateDifference(runs)!, 0.95);

describe("the share of a baseline, by Fieller", () => {
  // worked by hand from Fieller (1954) with Satterthwaite's degrees of freedom: four printed digits
  test("five and five runs: 0.20875, 0.1815 to 0.2359", () => {
    const { ratio, interval } = of(runsOf([1.02, 0.97, 1.05, 1.0, 0.99], [0.21, 0.18, 0.24, 0.2, 0.22]));
    expect(1 + ratio!).toBeCloseTo(0.20875, 5);
    expect(1 + interval![0]).toBeCloseTo(0.1815, 4);
    expect(1 + interval![1]).toBeCloseTo(0.2359, 4);
  });

  // t(0.975, 2)^2 (1/3) / 2^2 = 1.543: the baseline is not distinguished from 0
  test("a baseline of 3, 1, 2 gives no number", () => {
    expect(of(runsOf([3, 1, 2], [1, 1.5, 1.2])).interval).toBeNull();
    expect(of(runsOf([2.3, 1.7, 2], [1, 1.5, 1.2])).interval).not.toBeNull();
  });

  test("without spread, or about a baseline of 0, there is none", () => {
    expect(of(runsOf([1, 1, 1], [2, 2, 2]))).toEqual({ ratio: 1, interval: null });
    expect(of(runsOf([-1, 1, 0], [2, 2.1, 2]))).toEqual({ ratio: null, interval: null });
  });

  const spread = fc.array(fc.double({ min: -0.4, max: 0.4, noNaN: true }), { minLength: 3, maxLength: 6 });
  const sides = fc.tuple(spread, spread, fc.double({ min: -0.9, max: 0.9, noNaN: true }));

  test("it leaves out 0 exactly where the interval of the difference does", () => {
    fc.assert(
      fc.property(sides, fc.integer({ min: 1, max: 3 }), ([a, b, step], blocks) => {
        const random = seededRandom(a.length + 10 * b.length);
        const values = Array.from({ length: blocks }, () => [
          a.map((value) => 3 + value + 0.01 * random.normal()),
          b.map((value) => 3 + step + value + 0.01 * random.normal()),
        ]) as [number[], number[]][];
        const runs = blockedRunsOf(values);
        const estimate = estimateDifference(runs)!;
        const { interval } = ratioInterval(groupSums(runs), estimate, 0.95);
        const [low, high] = differenceInterval(estimate, 0.95)!;
        if (interval === null) return;
        expect(interval[0] > 0 || interval[1] < 0).toBe(low > 0 || high < 0);
      }),
      { seed: 20261130, numRuns: 200 },
    );
  });

  // at an end rho the scaled baseline (1 + rho) times it is just not distinguished from the candidate
  test("its ends are where Welch's interval against the scaled baseline touches 0", () => {
    fc.assert(
      fc.property(sides, ([a, b, step]) => {
        const baseline = a.map((value) => 3 + value);
        const candidate = b.map((value) => 3 + step + value);
        const runs = runsOf(baseline, candidate);
        if (!(estimateDifference(runs)!.standardError > 1e-3)) return;
        for (const rho of of(runs).interval ?? []) {
          const scaled = runsOf(
            baseline.map((value) => (1 + rho) * value),
            candidate,
          );
          const [low, high] = differenceInterval(estimateDifference(scaled)!, 0.95)!;
          expect(Math.min(Math.abs(low), Math.abs(high))).toBeLessThan(1e-7);
        }
      }),
      { seed: 20261130, numRuns: 100 },
    );
  });

  // within blocks by the design matrix itself: d and b are sums of the values, their covariance is sigma^2 times a product of weights
  test("within blocks its ends are where (d - rho b)^2 is t^2 times its variance, by the whole design", () => {
    const blocks: [number[], number[]][] = [
      [
        [4.1, 3.9],
        [3.2, 3.4],
      ],
      [
        [5.2, 4.9],
        [4.1, 4.6],
      ],
      [
        [4.4, 4.8],
        [3.9, 3.6],
      ],
    ];
    const runs = blockedRunsOf(blocks);
    const n = runs.values.length;
    const columns = [
      Float64Array.from(runs.candidate),
      ...[0, 1, 2].map((block) => Float64Array.from(runs.block, (own) => (own === block ? 1 : 0))),
    ];
    const fit = leastSquares(columns, runs.values);
    const unit = (i: number): Float64Array => Float64Array.from({ length: n }, (_, j) => (i === j ? 1 : 0));
    const weights = Array.from({ length: n }, (_, i) => leastSquares(columns, unit(i)).coefficients[0]!);
    const share = Array.from({ length: n }, (_, i) => (runs.candidate[i] === 0 ? 1 / 6 : 0));
    const d = fit.coefficients[0]!;
    const b = share.reduce((sum, weight, i) => sum + weight * runs.values[i]!, 0);
    const left = runs.values.map(
      (value, i) => value - columns.reduce((sum, column, j) => sum + fit.coefficients[j]! * column[i]!, 0),
    );
    const variance = left.reduce((sum, value) => sum + value * value, 0) / (n - 4);
    const t = studentTQuantile(0.975, n - 4);
    const { ratio, interval } = of(runs);
    expect(ratio).toBeCloseTo(d / b, 12);
    for (const rho of interval!) {
      const own = weights.reduce((sum, weight, i) => sum + (weight - rho * share[i]!) ** 2, 0);
      expect((d - rho * b) ** 2).toBeCloseTo(t * t * variance * own, 9);
    }
  });
});
