import { describe, expect, test } from "vitest";
import { cellRuns } from "../../src/comparison/cellRuns.ts";
import {
  blockedDifference,
  differenceInterval,
  differenceP,
  equivalenceP,
  estimateDifference,
  welchDifference,
} from "../../src/comparison/estimateDifference.ts";
import { holm, holmAmong } from "../../src/comparison/judgeFamily.ts";
import { groupSums } from "../../src/comparison/permutationSums.ts";
import { permutationTest } from "../../src/comparison/permutationTest.ts";
import { pairLimit } from "../../src/comparison/plannedError.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import { leastSquares } from "../../src/numeric/leastSquares.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import published from "../published/data/comparison.json";
import nist from "../published/data/nist-anova.json";
import { inventedCampaign, inventedRuns } from "../support/inventedCampaign.ts";
import { type BlockValues, blockedRunsOf, runsOf } from "../support/runsOf.ts";

const permutation = {
  exactUpTo: defaultSettings.exact_arrangements,
  drawn: defaultSettings.drawn_arrangements,
  seed: defaultSettings.permutation_seed,
};

/** Half a unit of the last printed digit. */
const half = (printed: number, digits: number): number =>
  0.5 * 10 ** (Math.floor(Math.log10(Math.abs(printed))) + 1 - digits);

function expectPrinted(found: number, printed: number, digits: number): void {
  expect(Math.abs(found - printed)).toBeLessThanOrEqual(half(printed, digits) * (1 + 1e-9));
}

describe("the sleep of ten patients under two drugs", () => {
  const { drug1, drug2, welch, paired } = published.sleep;

  test("as two groups: Welch's t, degrees of freedom, p and interval", () => {
    const estimate = welchDifference(groupSums(runsOf(drug2, drug1)))!;
    expectPrinted(estimate.difference / estimate.standardError, welch.t, 5);
    expectPrinted(estimate.degreesOfFreedom, welch.df, 5);
    expectPrinted(differenceP(estimate)!, welch.p, 4);
    const [low, high] = differenceInterval(estimate, 0.95)!;
    expectPrinted(low, welch.interval[0]!, 8);
    expectPrinted(high, welch.interval[1]!, 7);
  });

  test("as ten blocks of 1 + 1: the t of pairs", () => {
    const estimate = blockedDifference(groupSums(blockedRunsOf(drug1.map((value, i) => [[drug2[i]!], [value]]))))!;
    expectPrinted(estimate.difference, paired.difference, 3);
    expectPrinted(estimate.difference / estimate.standardError, paired.t, 5);
    expect(estimate.degreesOfFreedom).toBe(paired.df);
    expectPrinted(differenceP(estimate)!, paired.p, 4);
    const [low, high] = differenceInterval(estimate, 0.95)!;
    expectPrinted(low, paired.interval[0]!, 8);
    expectPrinted(high, paired.interval[1]!, 7);
  });
});

describe("Darwin's maize, fifteen pairs as blocks of 1 + 1", () => {
  const { differences, signPatterns, asExtreme, t, df, p } = published.maize;
  const runs = blockedRunsOf(differences.map((value, i): BlockValues => [[100 + 7 * i], [100 + 7 * i + value]]));

  test("of 32 768 patterns of sign 1726 are as extreme", () => {
    const found = permutationTest(runs, "blocked", permutation);
    expect(found).toMatchObject({ exact: true, arrangements: signPatterns, leastP: 2 / signPatterns });
    // whole numbers: exact
    expect(found.p).toBe(asExtreme / signPatterns);
  });

  test("t is 2.148 on 14 degrees of freedom", () => {
    const estimate = estimateDifference(runs)!;
    expectPrinted(estimate.difference / estimate.standardError, t, 4);
    expect(estimate.degreesOfFreedom).toBe(df);
    expectPrinted(differenceP(estimate)!, p, 3);
  });
});

/** n numbers with exactly this mean and standard deviation (n - 1). */
function numbersWith(n: number, mean: number, sd: number, seed = 1): number[] {
  const { normal } = seededRandom(seed);
  return standardised(Array.from({ length: n }, normal)).map((value) => mean + sd * value);
}

function standardised(values: readonly number[]): number[] {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  const sd = Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (values.length - 1));
  return values.map((value) => (value - mean) / sd);
}

describe("two one-sided tests", () => {
  const { two, paired, one } = published.equivalence;

  test("of two groups given by their means and spreads", () => {
    const [first, second] = [0, 1].map((i) => numbersWith(two.n[i]!, two.means[i]!, two.sd[i]!, i + 1)) as [
      number[],
      number[],
    ];
    const estimate = welchDifference(groupSums(runsOf(second, first)))!;
    expectPrinted(estimate.degreesOfFreedom, two.df, 7);
    expect((estimate.difference + two.margin) / estimate.standardError).toBeCloseTo(two.t[0]!, 5);
    expect((estimate.difference - two.margin) / estimate.standardError).toBeCloseTo(two.t[1]!, 5);
    // the larger of the two; seven digits, the margin itself is printed to seven
    expect(equivalenceP(estimate, two.margin)! / two.p[1]!).toBeCloseTo(1, 5);
    const [low, high] = differenceInterval(estimate, 0.9)!;
    expect(low).toBeCloseTo(two.interval90[0]!, 6);
    expect(high).toBeCloseTo(two.interval90[1]!, 6);
  });

  test("of pairs: blocks of 1 + 1", () => {
    // two columns with exactly the correlation asked for: the second less its share of the first
    const { normal } = seededRandom(3);
    const u = standardised(Array.from({ length: paired.n }, normal));
    const raw = standardised(Array.from({ length: paired.n }, normal));
    const along = u.reduce((sum, value, i) => sum + value * raw[i]!, 0) / (paired.n - 1);
    const v = standardised(raw.map((value, i) => value - along * u[i]!));
    const r = paired.correlation;
    const blocks = u.map((value, i): BlockValues => {
      const other = r * value + Math.sqrt(1 - r * r) * v[i]!;
      return [[paired.means[1]! + paired.sd[1]! * other], [paired.means[0]! + paired.sd[0]! * value]];
    });
    const estimate = estimateDifference(blockedRunsOf(blocks))!;
    expect(estimate.method).toBe("blocked");
    expect(estimate.degreesOfFreedom).toBe(paired.df);
    expect((estimate.difference + paired.margin) / estimate.standardError).toBeCloseTo(paired.t[0]!, 5);
    expect((estimate.difference - paired.margin) / estimate.standardError).toBeCloseTo(paired.t[1]!, 5);
    expect(equivalenceP(estimate, paired.margin)! / paired.p[1]!).toBeCloseTo(1, 5);
    const [low, high] = differenceInterval(estimate, 0.9)!;
    expect(low).toBeCloseTo(paired.interval90[0]!, 6);
    expect(high).toBeCloseTo(paired.interval90[1]!, 6);
  });

  // our cells always compare two configurations; the formula itself does not ask where the estimate came from
  test("of one sample against a number", () => {
    const estimate = {
      method: "welch",
      error: "welch",
      difference: one.mean - one.reference,
      standardError: one.sd / Math.sqrt(one.n),
      degreesOfFreedom: one.df,
    } as const;
    expect(equivalenceP(estimate, one.margin)! / one.p[1]!).toBeCloseTo(1, 6);
    expect(differenceInterval(estimate, 0.9)![0]).toBeCloseTo(one.interval90[0]!, 6);
    expect(differenceInterval(estimate, 0.9)![1]).toBeCloseTo(one.interval90[1]!, 6);
  });
});

describe("Holm's step-down p", () => {
  const { p, sortedP, adjusted } = published.holm;

  test("of ten published p values, in sorted and in given order", () => {
    for (const [i, value] of holm(sortedP).entries()) expect(Math.abs(value - adjusted[i]!)).toBeLessThan(1e-9);
    for (const [i, value] of holm(p).entries()) {
      expect(Math.abs(value - adjusted[sortedP.indexOf(p[i]!)]!)).toBeLessThan(1e-9);
    }
  });

  test("of one member whose p stays is what the whole family says", () => {
    const all = holm(p);
    for (const [i, own] of p.entries()) {
      const others = Float64Array.from(p.filter((_, j) => j !== i)).sort();
      expect(holmAmong(own, others)).toBe(all[i]);
    }
  });

  // Bonferroni rejects what Holm rejects at the first step; Hochberg steps up with Holm's limits: Holm lies between the two
  test("rejects three of the fifteen thrombolysis endpoints, as both its neighbours do", () => {
    const { p: fifteen, bonferroniRejects, hochbergRejects } = published.thrombolysis;
    expect(fifteen.filter((value) => 15 * value <= 0.05)).toHaveLength(bonferroniRejects);
    expect(bonferroniRejects).toBe(hochbergRejects);
    expect(holm(fifteen).filter((value) => value <= 0.05)).toHaveLength(bonferroniRejects);
  });
});

describe("the least p that so many runs can give", () => {
  /** Values that lie as the labels do: all of the candidate's runs above all of the baseline's, no two alike. */
  const apart = (blocks: readonly number[][]): BlockValues[] =>
    blocks.map(([n0, n1]) => [
      Array.from({ length: n0! }, (_, i) => 0.01 * 1.7 ** i),
      Array.from({ length: n1! }, (_, i) => 1 + 0.01 * 2.1 ** i),
    ]);
  const least = (blocks: readonly number[][]) =>
    permutationTest(blockedRunsOf(apart(blocks)), blocks.length > 1 ? "blocked" : "welch", permutation);

  test.each(published.leastP.rows)("equal numbers, blocks of $blocks: $p", ({ blocks, p }) => {
    const found = least(blocks);
    // printed to two to four digits
    expect(Math.abs(found.leastP - p)).toBeLessThan(p < 0.001 ? 5e-6 : 5e-5);
    expect(found.p).toBe(found.leastP);
  });

  // The table counts both ends. With unequal numbers the mirrored arrangement is not as extreme: |difference| has one most
  // extreme arrangement only, so half of the table's p is attained (the first lines of the tests show that it is).
  test.each(published.leastP.unequal)(
    "unequal numbers, $blocks: half of the $p that counting both ends gives",
    ({ blocks, p }) => {
      const found = least(blocks);
      expect(Math.abs(2 * found.leastP - p)).toBeLessThan(5e-5);
      expect(found.p).toBe(found.leastP);
    },
  );
});

describe("wing lengths: cages, females in cages, two measurements of each", () => {
  const { cages, meanSquares, F, df, wrongF, wrongDf } = published.wings;
  const mean = (values: readonly number[]): number => values.reduce((sum, value) => sum + value, 0) / values.length;

  test("one number per female gives F = 1.741 on 2 and 9", () => {
    const groups = cages.map((females) => females.map(mean));
    const found = oneWay(groups);
    expectPrinted(found.F, F, 4);
    expect([found.between, found.within]).toEqual(df);
    // the means of two measurements have half the mean squares of the table
    expect(2 * found.meanSquareBetween).toBeCloseTo(meanSquares.cages, 3);
    expect(2 * found.meanSquareWithin).toBeCloseTo(meanSquares.females, 3);
  });

  test("measurements taken for replicates would have given F = 255.7 on 2 and 12: the trap", () => {
    // like measurements: the spread within a female, pooled over all
    const females = cages.flat();
    const within = pairLimit(blockedRunsOf(females.map((values): BlockValues => [values, []])), {
      leastDf: 4,
      level: 0.95,
    })!;
    expect(within.df).toBe(wrongDf[1]);
    expectPrinted(within.sd ** 2, meanSquares.error, 5);
    const between = 2 * oneWay(cages.map((one) => one.map(mean))).meanSquareBetween;
    expectPrinted(between / within.sd ** 2, wrongF, 4);
  });

  test("a cell takes one number per run, however many cycles the run has", () => {
    const perCycle = Array.from({ length: 40 }, (_, i) => 0.001 + 0.0001 * i);
    const runs = inventedRuns([
      { configuration: "bare", value: 0.003, perCycle },
      { configuration: "weighted", value: 0.002, perCycle },
    ]);
    const place = { trajectory: "orbit", subject: "vehicle", axis: "x", metric: "rms" } as const;
    expect(cellRuns(inventedCampaign(runs), runs, place).map(({ value }) => value)).toEqual([0.003, 0.002]);
  });
});

/** One-way analysis of variance by least squares on indicator columns. */
function oneWay(groups: readonly (readonly number[])[]) {
  const y = Float64Array.from(groups.flat());
  const columns = groups.map((_, j) =>
    Float64Array.from(groups.flatMap((group, i) => group.map(() => Number(i === j)))),
  );
  const fit = leastSquares(columns, y);
  const between = groups.length - 1;
  const within = y.length - groups.length;
  const grand = y.reduce((sum, value) => sum + value, 0) / y.length;
  const meanSquareBetween =
    groups.reduce((sum, group, i) => sum + group.length * (fit.coefficients[i]! - grand) ** 2, 0) / between;
  const meanSquareWithin = fit.residualStandardDeviation ** 2;
  return { F: meanSquareBetween / meanSquareWithin, between, within, meanSquareBetween, meanSquareWithin };
}

describe("NIST's certified analyses of variance", () => {
  type Treatment = { values?: number[]; first?: number; pair?: number[]; pairs?: number };
  const groupsOf = (treatments: readonly Treatment[]): number[][] =>
    treatments.map(
      ({ values, first, pair, pairs }) => values ?? [first!, ...Array.from({ length: pairs! }, () => pair!).flat()],
    );
  const sets = Object.entries(nist.sets).map(([name, set]) => ({ name, ...set, groups: groupsOf(set.treatments) }));

  // what the pair limit rests on: the spread within groups, here all of them blocks with one configuration
  test.each(sets)(
    "$name: spread within treatments and its degrees of freedom",
    ({ name, groups, residualSd, dfWithin }) => {
      const found = pairLimit(blockedRunsOf(groups.map((values): BlockValues => [values, []])), {
        leastDf: 4,
        level: 0.95,
      })!;
      expect(found.df).toBe(dfWithin);
      // AtmWtAg: values of 107.8681568 with a spread of 1.5e-5 carry nine digits of it, as rounded to doubles
      expect(Math.abs(found.sd / residualSd - 1)).toBeLessThan(name === "AtmWtAg" ? 1e-9 : 1e-13);
    },
  );

  // Two treatments of equal size: Welch's standard error is the pooled one, so F = t^2. The other sets have five and nine
  // treatments, which no cell of ours has; their F is a check of leastSquares.
  test("AtmWtAg: two groups of 24, F = t^2", () => {
    const [first, second] = groupsOf(nist.sets.AtmWtAg.treatments) as [number[], number[]];
    const { difference, standardError } = welchDifference(groupSums(runsOf(first, second)))!;
    // a sum of 24 numbers near 108 is rounded by some 6e-13, so the means by 3e-14, 1.5e-9 of their difference of 1.7e-5
    expect(Math.abs((difference / standardError) ** 2 / nist.sets.AtmWtAg.F - 1)).toBeLessThan(1e-8);
  });

  test.each(sets.filter(({ name }) => name === "SiRstv" || name === "SmLs01" || name === "SmLs02"))(
    "$name: F by least squares",
    ({ groups, F, dfBetween, dfWithin }) => {
      const found = oneWay(groups);
      expect([found.between, found.within]).toEqual([dfBetween, dfWithin]);
      // thirteen digits are what doubles give on SiRstv (values of 196.3052, F of their third digit behind the point)
      expect(Math.abs(found.F / F - 1)).toBeLessThan(2e-12);
    },
  );

  // SmLs07: the numbers of SmLs01 plus 1e12 (from memory). Doubles near 1e12 are 1.2e-4 apart, so the expectation is not the
  // certified F but that of the doubles themselves, in whole numbers of 2^-13
  test("numbers near 1e12 leave least squares the digits that they still have", () => {
    const groups = groupsOf(nist.sets.SmLs01.treatments).map((values) => values.map((value) => 1e12 + value));
    const whole = groups.map((values) => values.map((value) => BigInt(value * 2 ** 13)));
    const all = whole.flat();
    const sum = (values: readonly bigint[]): bigint => values.reduce((total, value) => total + value, 0n);
    const squares = (values: readonly bigint[]): bigint => sum(values.map((value) => value * value));
    // n * sum of squares about the mean, exact
    const scattered = (values: readonly bigint[]): bigint =>
      BigInt(values.length) * squares(values) - sum(values) ** 2n;
    const within = whole.reduce((total, values) => total + Number(scattered(values)) / values.length, 0);
    const total = Number(scattered(all)) / all.length;
    const exact = (total - within) / (groups.length - 1) / (within / (all.length - groups.length));
    // nested models, since a mean near 1e12 itself is known to 1e-4 only
    const y = Float64Array.from(groups.flat());
    const ones = new Float64Array(y.length).fill(1);
    const dummies = groups
      .slice(1)
      .map((_, j) => Float64Array.from(groups.flatMap((group, i) => group.map(() => Number(i === j + 1)))));
    const left = (columns: Float64Array[]): number =>
      leastSquares(columns, y).residuals.reduce((squares, value) => squares + value * value, 0);
    const [alone, full] = [left([ones]), left([ones, ...dummies])];
    const freedom = y.length - groups.length;
    const F = (alone - full) / (groups.length - 1) / (full / freedom);
    // squares of tenths in 189 numbers: rounding of the last steps only
    expect(Math.abs(F / exact - 1)).toBeLessThan(1e-9);
  });

  // SmLs04: the numbers of SmLs01 plus 1 000 000 (from memory), the same certified figures
  test("a mean of a million leaves spread and difference their digits", () => {
    const groups = groupsOf(nist.sets.SmLs01.treatments).map((values) => values.map((value) => 1e6 + value));
    const found = pairLimit(blockedRunsOf(groups.map((values): BlockValues => [values, []])), {
      leastDf: 4,
      level: 0.95,
    })!;
    // 1e6 + 1.4 is rounded to 1e-10, one part in a thousand million of the spread
    expect(Math.abs(found.sd / 0.1 - 1)).toBeLessThan(1e-8);
  });
});

describe("sulfur in coal, eight laboratories (ISO 5725-2, from memory)", () => {
  test.each(published.coal.levels.map((labs, i) => ({ level: i + 1, labs, sd: published.coal.repeatability[i]! })))(
    "level $level: repeatability $sd",
    ({ labs, sd }) => {
      const found = pairLimit(blockedRunsOf(labs.map((values): BlockValues => [values, []])), {
        leastDf: 4,
        level: 0.95,
      })!;
      expect(Math.abs(found.sd - sd)).toBeLessThan(5e-4);
      expect(found.df).toBe(labs.flat().length - labs.length);
    },
  );

  test("the limit of a pair is 2.8 times that as the degrees of freedom grow (ISO 5725-6), more with few", () => {
    const factor = (n: number): number => {
      const found = pairLimit(runsOf(numbersWith(n, 3, 0.5), []), { leastDf: 4, level: 0.95 })!;
      expect(found.sd).toBeCloseTo(0.5, 12);
      return found.limit / found.sd;
    };
    // 1.96 root 2 = 2.77, printed as 2.8
    expect(factor(20_001)).toBeCloseTo(1.959964 * Math.SQRT2, 3);
    expect(factor(20_001).toFixed(1)).toBe("2.8");
    // t(0.975, 4) = 2.776, any table; below four degrees none is given
    expect(factor(5)).toBeCloseTo(2.776445 * Math.SQRT2, 5);
    expect(factor(10)).toBeLessThan(factor(6));
    expect(pairLimit(runsOf([1, 2, 3, 4], []), { leastDf: 4, level: 0.95 })).toBeNull();
  });
});
