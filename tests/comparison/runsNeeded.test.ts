import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { overSpread } from "../../src/comparison/decideVerdict.ts";
import { plannedError } from "../../src/comparison/plannedError.ts";
import { differencePower, equivalencePower, welchEquivalencePower, welchPower } from "../../src/comparison/power.ts";
import { type RunsWanted, runsForEquivalence, runsNeeded, smallestRuns } from "../../src/comparison/runsNeeded.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { studentTQuantile } from "../../src/numeric/studentT.ts";
import { relativeError } from "../numeric/relativeError.ts";
import published from "../published/data/power.json";
import { describeWith } from "../support/available.ts";
import { runR, rVector } from "../support/run.ts";

const plain: RunsWanted = { smallestDifference: 0.5, sd: 1, spreadDf: 8, level: 0.05 };

describe("published numbers of runs", () => {
  test.each(published.differences.cohen)("Cohen: $runs at $difference, two-sided 0.05, power 0.80", (row) => {
    const { middle } = runsNeeded({ ...plain, smallestDifference: row.difference });
    // Cohen rounds to the nearest whole, here the power is reached: 393.4 needs 394
    expect(middle - row.runs).toBeGreaterThanOrEqual(0);
    expect(middle - row.runs).toBeLessThanOrEqual(1);
  });

  test("64 runs a group at half a standard deviation: the exact number is 63.77", () => {
    expect(runsNeeded(plain).middle).toBe(64);
  });
});

/** R's are the pooled test's; Welch's own degrees of freedom cost a run or two where there are few, nothing beyond 31 each. */
function expectFewMore(found: readonly number[], pooled: readonly number[]): void {
  for (const [i, runs] of found.entries()) {
    const least = pooled[i]!;
    if (least > 31) expect(runs).toBe(least);
    else {
      expect(runs).toBeGreaterThanOrEqual(least);
      expect(runs).toBeLessThanOrEqual(least + 2);
    }
  }
}

describeWith(["r"], "against R", () => {
  const plans = [0.05, 0.05 / 12, 0.05 / 24].flatMap((level) =>
    [0.02, 0.2, 0.7, 1.3, 2, 3, 5].flatMap((ratio) => [0.8, 0.9].map((power) => [ratio, level, power] as const)),
  );
  const columns = ["d", "a", "p"].map((name, i) => `${name} <- ${rVector(plans.map((one) => one[i]!))}`).join("\n");

  test("power.t.test(n = NULL), rounded up, at the estimated spread and at both ends of its interval", () => {
    const df = 6.5;
    const expected = runR(`${columns}; options(warn = -1)
      factor <- c(sqrt(${df} / qchisq(c(0.975, 0.025), ${df})), 1)[c(1, 3, 2)]
      one <- function(d, a, p, f) max(3, ceiling(uniroot(function(n)
        power.t.test(n = n, delta = d, sd = f, sig.level = a, strict = TRUE)$power - p, c(2, 1e7), tol = 1e-7,
        extendInt = "upX")$root))
      cat(sapply(factor, function(f) mapply(one, d, a, p, f)), sep = "\n")`);
    const found = plans.map(([smallestDifference, level, power]) =>
      runsNeeded({ smallestDifference, sd: 1, spreadDf: df, level, power }),
    );
    const columnwise = (["low", "middle", "high"] as const).flatMap((end) => found.map((one) => one[end]));
    expectFewMore(columnwise, expected);
  });

  test("power.t.test's own search, where it reaches", () => {
    // it begins at 2 runs and gives the fraction: 0.2 to 2 spreads
    const some = plans.filter(([ratio]) => ratio >= 0.2 && ratio <= 2);
    const expected =
      runR(`${["d", "a", "p"].map((name, i) => `${name} <- ${rVector(some.map((one) => one[i]!))}`).join("\n")}
      one <- function(d, a, p) power.t.test(n = NULL, delta = d, sig.level = a, power = p, strict = TRUE, tol = 1e-9)$n
      cat(format(mapply(one, d, a, p), digits = 17), sep = "\n")`);
    const found = some.map(
      ([smallestDifference, level, power]) =>
        runsNeeded({ smallestDifference, sd: 1, spreadDf: 8, level, power }).middle,
    );
    expectFewMore(
      found,
      expected.map((n) => Math.max(3, Math.ceil(n))),
    );
  });

  test("millions of runs are found: the normal approximation", () => {
    // at so small a level the tail on the wrong side is nothing; at 0.05 it would be worth 37 of 16 million runs
    const [high, low] = runR(`cat(format(qnorm(c(1 - 5e-5, 0.8)), digits = 17), sep = "\n")`) as [number, number];
    const normal = (2 * (high + low) ** 2) / 1e-3 ** 2;
    // Guenther's z^2 / 4 comes on top of it, and the rounding up
    const more = runsNeeded({ ...plain, smallestDifference: 1e-3, level: 1e-4 }).middle - (normal + high ** 2 / 4);
    expect(more).toBeGreaterThan(-0.1);
    expect(more).toBeLessThan(1.1);
  });

  test("the ends of the spread are R's chi-squared interval", () => {
    const degrees = [1, 2.7, 4, 10, 200];
    const ends = runR(
      `df <- ${rVector(degrees)}; cat(format(sqrt(df / c(qchisq(0.95, df), qchisq(0.05, df))), digits = 17), sep = "\n")`,
    );
    for (const [i, spreadDf] of degrees.entries()) {
      const found = overSpread({ spreadDf, spreadLevel: 0.9 }, (factor) => factor);
      expect(found.middle).toBe(1);
      expect(relativeError(found.low, ends[i]!)).toBeLessThan(1e-12);
      expect(relativeError(found.high, ends[degrees.length + i]!)).toBeLessThan(1e-12);
    }
  });
});

const anyPlan = fc.record({
  smallestDifference: fc.double({ min: 1e-3, max: 20, noNaN: true }),
  sd: fc.tuple(fc.double({ min: 0.1, max: 3, noNaN: true }), fc.double({ min: 0.1, max: 3, noNaN: true })),
  spreadDf: fc.double({ min: 1, max: 50, noNaN: true }),
  level: fc.double({ min: 1e-4, max: 0.1, noNaN: true }),
  power: fc.double({ min: 0.5, max: 0.99, noNaN: true }),
});

describe("the smallest number is the smallest", () => {
  test("as found reaches the power, one run less does not, and more spread takes no fewer", () => {
    fc.assert(
      fc.property(anyPlan, (plan) => {
        const { low, middle, high } = runsNeeded(plan);
        const reached = (runs: number): number =>
          Math.min(
            differencePower(plan.smallestDifference, { ...plan, runs }),
            welchPower(plan.smallestDifference, { ...plan, runs }),
          );
        expect(reached(middle)).toBeGreaterThanOrEqual(plan.power);
        if (middle > 3) expect(reached(middle - 1)).toBeLessThan(plan.power);
        expect(low).toBeGreaterThanOrEqual(3);
        expect(low).toBeLessThanOrEqual(middle);
        expect(middle).toBeLessThanOrEqual(high);
      }),
      { seed: 31, numRuns: 200 },
    );
  });

  test("the same for equivalence", () => {
    fc.assert(
      fc.property(anyPlan, (plan) => {
        const { low, middle, high } = runsForEquivalence(plan);
        const { smallestDifference: margin, level } = plan;
        const reached = (runs: number): number =>
          equivalencePower(0, { margin, level, ...plannedError(runs, plan.sd) });
        expect(reached(middle)).toBeGreaterThanOrEqual(plan.power);
        if (middle > 3) expect(reached(middle - 1)).toBeLessThan(plan.power);
        expect(low).toBeGreaterThanOrEqual(3);
        expect(low).toBeLessThanOrEqual(middle);
        expect(middle).toBeLessThanOrEqual(high);
      }),
      { seed: 32, numRuns: 100 },
    );
  });

  test("walking up one by one, from any guess, ends at the same number in few looks", () => {
    for (const answer of [2, 3, 4, 5, 17, 64, 1000, 123_456]) {
      for (const guess of [-5, 0, 3, 4.5, 16, 63.2, 64, 65, 5000, 1e6]) {
        let looks = 0;
        const found = smallestRuns((runs) => ++looks > 0 && runs >= answer, { guess, least: 3 });
        expect(found).toBe(Math.max(3, answer));
        expect(looks).toBeLessThanOrEqual(3 + 2 * Math.log2(2 + Math.abs(guess - answer)));
      }
    }
  });

  test("what no campaign reaches is given as the largest whole number", () => {
    expect(smallestRuns(() => false, { guess: Number.POSITIVE_INFINITY, least: 3 })).toBe(Number.MAX_SAFE_INTEGER);
    expect(smallestRuns(() => false, { guess: 4, least: 3 })).toBe(Number.MAX_SAFE_INTEGER);
    expect(runsNeeded({ ...plain, smallestDifference: 1e-12 }).middle).toBe(Number.MAX_SAFE_INTEGER);
    expect(runsForEquivalence({ ...plain, smallestDifference: 1e-200 }).high).toBe(Number.MAX_SAFE_INTEGER);
    // a hundredth of a degree of freedom: the upper end of the spread is beyond all numbers
    expect(runsNeeded({ ...plain, spreadDf: 0.01 }).high).toBe(Number.MAX_SAFE_INTEGER);
  });

  test("a huge smallest difference takes the fewest runs that get a verdict", () => {
    expect(runsNeeded({ ...plain, smallestDifference: 1e9 })).toEqual({ low: 3, middle: 3, high: 3 });
    expect(runsForEquivalence({ ...plain, smallestDifference: 1e9 })).toEqual({ low: 3, middle: 3, high: 3 });
    expect(runsNeeded({ ...plain, smallestDifference: 1e9, leastRuns: 5 }).low).toBe(5);
  });

  test("only the difference over the spread matters, and the spreads may change places", () => {
    const one = runsNeeded({ ...plain, smallestDifference: 0.0015, sd: [0.0011, 0.0024] });
    expect(runsNeeded({ ...plain, smallestDifference: 1.5, sd: [1.1, 2.4] })).toEqual(one);
    expect(runsNeeded({ ...plain, smallestDifference: 1.5, sd: [2.4, 1.1] })).toEqual(one);
  });
});

/** Welch's test as a textbook has it, on its own: not the one under src. */
function welchRejects(first: readonly number[], second: readonly number[], critical: (df: number) => number): boolean {
  const [a, b] = [first, second].map((values) => {
    const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
    const squares = values.reduce((sum, value) => sum + (value - mean) ** 2, 0);
    return { mean, part: squares / (values.length - 1) / values.length, df: values.length - 1 };
  }) as [{ mean: number; part: number; df: number }, { mean: number; part: number; df: number }];
  const variance = a.part + b.part;
  const df = variance ** 2 / (a.part ** 2 / a.df + b.part ** 2 / b.df);
  return Math.abs(a.mean - b.mean) > critical(df) * Math.sqrt(variance);
}

describe("simulated campaigns", () => {
  test.each([
    { sd: [1, 1], ratio: 2.2, level: 0.05, allowance: 0 },
    { sd: [1, 1], ratio: 1.2, level: 0.05 / 12, allowance: 0 },
    { sd: [1, 1], ratio: 4, level: 0.05 / 12, allowance: 0 },
    { sd: [1, 2], ratio: 2.4, level: 0.05, allowance: 0 },
    { sd: [0.5, 1.5], ratio: 1.3, level: 0.05 / 12, allowance: 0 },
  ])("Welch's test finds $ratio at sd $sd, level $level, as often as promised", ({ sd, ratio, level, allowance }) => {
    const [s0, s1] = sd as [number, number];
    const runs = runsNeeded({ smallestDifference: ratio, sd: [s0, s1], spreadDf: 8, level }).middle;
    const promised = welchPower(ratio, { runs, sd: [s0, s1], level });
    const random = seededRandom(20261125);
    const campaigns = 8000;
    let found = 0;
    for (let campaign = 0; campaign < campaigns; campaign++) {
      const first = Array.from({ length: runs }, () => s0 * random.normal());
      const second = Array.from({ length: runs }, () => ratio + s1 * random.normal());
      if (welchRejects(first, second, (df) => -studentTQuantile(level / 2, df))) found++;
    }
    const error = Math.sqrt((promised * (1 - promised)) / campaigns);
    expect(Math.abs(found / campaigns - promised)).toBeLessThan(4 * error + allowance);
  });

  test("two one-sided tests show that nothing matters as often as promised", () => {
    const margin = 1;
    const runs = runsForEquivalence({ smallestDifference: margin, sd: 1, spreadDf: 8, level: 0.05 }).middle;
    const promised = equivalencePower(0, { margin, ...plannedError(runs, 1) });
    const random = seededRandom(7);
    const campaigns = 8000;
    const df = 2 * (runs - 1);
    const critical = studentTQuantile(0.95, df);
    let shown = 0;
    for (let campaign = 0; campaign < campaigns; campaign++) {
      const values = Array.from({ length: 2 * runs }, () => random.normal());
      const means = [0, 1].map(
        (side) => values.slice(side * runs, side * runs + runs).reduce((a, b) => a + b, 0) / runs,
      );
      const squares = values.reduce((sum, value, i) => sum + (value - means[i < runs ? 0 : 1]!) ** 2, 0);
      const half = critical * Math.sqrt(((squares / df) * 2) / runs);
      if (Math.abs(means[1]! - means[0]!) + half < margin) shown++;
    }
    const error = Math.sqrt((promised * (1 - promised)) / campaigns);
    expect(Math.abs(shown / campaigns - promised)).toBeLessThan(4 * error);
  });
});

// Schuirmann's tests with Welch's degrees of freedom, flown 20 000 times without any difference: the planned degrees of freedom
// promise 80 % at 3 v 3 where 75 hold. 4 standard errors of a share of 0.8 in 20 000 are 0.011.
test("two one-sided Welch tests with few runs reach the power that is promised, and less than planned", () => {
  const runs = 3;
  // with this margin the planned degrees of freedom promise 0.80 at 3 v 3
  let margin = 2;
  while (equivalencePower(0, { margin, ...plannedError(runs, 1) }) < 0.8) margin += 0.01;
  const promised = welchEquivalencePower(margin, { runs, sd: 1, level: 0.05 });
  const random = seededRandom(11);
  const campaigns = 20_000;
  let shown = 0;
  for (let campaign = 0; campaign < campaigns; campaign++) {
    const sides = [0, 1].map(() => Array.from({ length: runs }, () => random.normal()));
    const means = sides.map((side) => side.reduce((a, b) => a + b, 0) / runs);
    const [v0, v1] = sides.map((side, k) => side.reduce((sum, x) => sum + (x - means[k]!) ** 2, 0) / (runs - 1) / runs);
    const df = (v0! + v1!) ** 2 / ((v0! ** 2 + v1! ** 2) / (runs - 1));
    if (Math.abs(means[1]! - means[0]!) + studentTQuantile(0.95, df) * Math.sqrt(v0! + v1!) < margin) shown++;
  }
  expect(Math.abs(shown / campaigns - promised)).toBeLessThan(0.012);
  expect(promised).toBeLessThan(0.78);
  expect(runsForEquivalence({ smallestDifference: margin, sd: 1, spreadDf: 8, level: 0.05 }).middle).toBe(4);
});

describe("what they refuse", () => {
  test.each([
    [{ smallestDifference: 0 }, "a smallest difference above 0, found 0"],
    [{ smallestDifference: Number.NaN }, "a smallest difference above 0, found NaN"],
    [{ smallestDifference: Number.POSITIVE_INFINITY }, "a smallest difference above 0, found Infinity"],
    [{ level: 0 }, "a level above 0 and below 1, found 0"],
    [{ level: 1 }, "a level above 0 and below 1, found 1"],
    [{ power: 0.05 }, "a power above the level of 0.05 and below 1, found 0.05"],
    [{ power: 1 }, "a power above the level of 0.05 and below 1, found 1"],
    [{ spreadLevel: 1 }, "a level of the spread above 0 and below 1, found 1"],
    [{ leastRuns: 1 }, "least runs of a whole number from 2 up, found 1"],
    [{ leastRuns: 3.5 }, "least runs of a whole number from 2 up, found 3.5"],
  ])("%o", (change, message) => {
    for (const search of [runsNeeded, runsForEquivalence]) {
      expect(() => search({ ...plain, ...change })).toThrow(`${search.name} requires ${message}`);
      expect(() => search({ ...plain, ...change })).toThrow(expect.objectContaining({ code: "not-a-plan" }));
    }
  });

  test("no spread, no degrees of freedom, a one-sided level of one half", () => {
    for (const search of [runsNeeded, runsForEquivalence]) {
      for (const sd of [0, -1, Number.NaN]) {
        expect(() => search({ ...plain, sd })).toThrow(expect.objectContaining({ code: "no-planned-spread" }));
      }
      expect(() => search({ ...plain, spreadDf: 0 })).toThrow(
        expect.objectContaining({ code: "not-degrees-of-freedom" }),
      );
    }
    expect(() => runsForEquivalence({ ...plain, level: 0.5 })).toThrow(
      expect.objectContaining({ code: "not-a-probability" }),
    );
  });
});
