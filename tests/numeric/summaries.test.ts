import { describe, expect, test } from "vitest";
import { NotFiniteError, TooFewSamplesError } from "../../src/foundation/errors.ts";
import { compensatedSum, mean, sampleStandardDeviation } from "../../src/numeric/descriptive.ts";
import published from "../published/data/nist-univariate.json";
import { describeWith } from "../support/available.ts";
import { runPython } from "../support/run.ts";
import { normalColumn } from "./randomColumns.ts";
import { relativeError } from "./relativeError.ts";

describe("NIST StRD, univariate summary statistics", () => {
  // 15 certified digits, of which compensated two-pass sums in doubles keep 13
  test.each(Object.entries(published.datasets))("%s: mean and sd are NIST's", (_, set) => {
    const values = Float64Array.from(set.values);
    expect(relativeError(mean(values), Number(set.certified.mean))).toBeLessThan(1e-13);
    expect(relativeError(sampleStandardDeviation(values), Number(set.certified.sampleStdDev))).toBeLessThan(1e-13);
  });

  const pairs = (centre: number): Float64Array =>
    Float64Array.from({ length: 1001 }, (_, i) =>
      // the decimal itself, not a sum of doubles
      Number((centre + (i === 0 ? 0 : i % 2 === 1 ? -0.1 : 0.1)).toFixed(1)),
    );
  // NumAcc3 and 4: 0.1 is no binary fraction, so the spread of the stored numbers is itself off by this much
  test.each([
    ["NumAcc1", Float64Array.of(10000001, 10000003, 10000002), 1e-15],
    ["NumAcc2", pairs(1.2), 1e-14],
    ["NumAcc3", pairs(1000000.2), 3.5e-10],
    ["NumAcc4", pairs(10000000.2), 5.6e-9],
  ] as const)("%s: as good as the stored decimals allow", (name, values, sdTolerance) => {
    const certified = published.numacc[name];
    expect(relativeError(mean(values), Number(certified.mean))).toBeLessThan(1e-15);
    expect(relativeError(sampleStandardDeviation(values), Number(certified.sampleStdDev))).toBeLessThan(sdTolerance);
  });
});

test("compensatedSum keeps what plain addition loses", () => {
  // exact arithmetic: 1 + 1e100 + 1 - 1e100 = 2, and a million tenths (as stored) are 100000 to the last digit
  expect(compensatedSum(Float64Array.of(1, 1e100, 1, -1e100))).toBe(2);
  expect(compensatedSum(new Float64Array(1_000_000).fill(0.1))).toBe(100_000);
  expect(compensatedSum(new Float64Array(0))).toBe(0);
});

test("sampleStandardDeviation does not feel the rounding of its mean", () => {
  // exact arithmetic: 1, 1, 2 have variance 1/3; beside 2^52 their mean rounds from 4/3 to 1, which alone would give 1/2
  const offset = 2 ** 52;
  const found = sampleStandardDeviation(Float64Array.of(offset + 1, offset + 1, offset + 2));
  expect(relativeError(found, Math.sqrt(1 / 3))).toBeLessThan(1e-15);
});

describeWith(["scipy"], "against numpy on seeded random columns", () => {
  test("mean and sd with n - 1 agree", () => {
    const columns = [normalColumn(1, 2), normalColumn(2, 1001, 1e6, 1e-3), normalColumn(3, 5000, -2, 7)];
    const expected = runPython<number[][]>(
      `import json,sys,numpy as np
def f(v):
    v=np.array(v,dtype=np.longdouble)
    return [float(v.mean()),float(v.std(ddof=1))]
print(json.dumps([f(v) for v in json.load(sys.stdin)]))`,
      columns.map((column) => [...column]),
    );
    columns.forEach((column, i) => {
      const [centre, spread] = expected[i] as [number, number];
      // numpy in 80-bit arithmetic: ours may differ by a few units of the last place of a double
      expect(relativeError(mean(column), centre)).toBeLessThan(1e-14);
      expect(relativeError(sampleStandardDeviation(column), spread)).toBeLessThan(1e-13);
    });
  });
});

describe("what they refuse", () => {
  const functions = [
    [mean, 1],
    [sampleStandardDeviation, 2],
  ] as const;

  test.each(functions)("%o refuses too few samples and names how many it needs", (statistic, needed) => {
    const call = (): number => statistic(new Float64Array(needed - 1));
    expect(call).toThrow(TooFewSamplesError);
    expect(call).toThrow(`${statistic.name} requires at least ${needed} data point(s), found ${needed - 1}`);
  });

  test.each(functions)("%o refuses NaN and infinity and says where", (statistic) => {
    for (const bad of [Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY]) {
      const call = (): number => statistic(Float64Array.of(1, 2, bad, 4));
      expect(call).toThrow(NotFiniteError);
      expect(call).toThrow(`${statistic.name} found ${bad} at index 2`);
    }
  });
});
