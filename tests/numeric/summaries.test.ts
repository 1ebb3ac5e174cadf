import { describe, expect, test } from "vitest";
import { CounterpoiseError, NotFiniteError, TooFewSamplesError } from "../../src/foundation/errors.ts";
import { compensatedSum } from "../../src/numeric/compensatedSum.ts";
import { lagOneAutocorrelation } from "../../src/numeric/lagOneAutocorrelation.ts";
import { mean } from "../../src/numeric/mean.ts";
import { rootMeanSquare } from "../../src/numeric/rootMeanSquare.ts";
import { sampleStandardDeviation } from "../../src/numeric/sampleStandardDeviation.ts";
import { vonNeumannRatio } from "../../src/numeric/vonNeumannRatio.ts";
import published from "../published/data/nist-univariate.json";
import { describeWith } from "../support/available.ts";
import { runPython } from "../support/run.ts";
import { normalColumn } from "./randomColumns.ts";
import { relativeError } from "./relativeError.ts";

describe("NIST StRD, univariate summary statistics", () => {
  // 15 certified digits, of which compensated two-pass sums in doubles keep 13
  test.each(Object.entries(published.datasets))("%s: mean, sd and lag-1 autocorrelation are NIST's", (_, set) => {
    const values = Float64Array.from(set.values);
    expect(relativeError(mean(values), Number(set.certified.mean))).toBeLessThan(1e-13);
    expect(relativeError(sampleStandardDeviation(values), Number(set.certified.sampleStdDev))).toBeLessThan(1e-13);
    expect(relativeError(lagOneAutocorrelation(values), Number(set.certified.lag1Autocorrelation))).toBeLessThan(1e-12);
  });

  const pairs = (centre: number): Float64Array =>
    Float64Array.from({ length: 1001 }, (_, i) =>
      // the decimal itself, not a sum of doubles
      Number((centre + (i === 0 ? 0 : i % 2 === 1 ? -0.1 : 0.1)).toFixed(1)),
    );
  // NumAcc3 and 4: 0.1 is no binary fraction, so the spread of the stored numbers is itself off by this much
  test.each([
    ["NumAcc1", Float64Array.of(10000001, 10000003, 10000002), 1e-15, 1e-15],
    ["NumAcc2", pairs(1.2), 1e-14, 1e-13],
    ["NumAcc3", pairs(1000000.2), 3.5e-10, 1e-9],
    ["NumAcc4", pairs(10000000.2), 5.6e-9, 2e-8],
  ] as const)("%s: as good as the stored decimals allow", (name, values, sdTolerance, lagTolerance) => {
    const certified = published.numacc[name];
    expect(relativeError(mean(values), Number(certified.mean))).toBeLessThan(1e-15);
    expect(relativeError(sampleStandardDeviation(values), Number(certified.sampleStdDev))).toBeLessThan(sdTolerance);
    expect(relativeError(lagOneAutocorrelation(values), Number(certified.lag1Autocorrelation))).toBeLessThan(
      lagTolerance,
    );
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

test("rootMeanSquare of 1 and 7 is 5, and of a constant its size", () => {
  expect(rootMeanSquare(Float64Array.of(1, 7))).toBe(5);
  expect(rootMeanSquare(Float64Array.of(-3, -3, -3))).toBe(3);
});

describe("vonNeumannRatio", () => {
  test("has the mean and variance that von Neumann gives for independent normal readings", () => {
    // J. von Neumann (1941), from memory: n = 10 gives mean 20/9 and variance 4 n^2 (n-2) / ((n+1)(n-1)^3) = 0.39907.
    // 40 000 seeded trials: standard error of the mean sqrt(0.399/40000) = 0.0032, of the variance about 0.003; limits 4 of them
    const trials = 40_000;
    const all = normalColumn(41, 10 * trials);
    const ratios = Float64Array.from({ length: trials }, (_, i) => vonNeumannRatio(all.subarray(10 * i, 10 * i + 10)));
    expect(Math.abs(mean(ratios) - 20 / 9)).toBeLessThan(0.0128);
    expect(Math.abs(sampleStandardDeviation(ratios) ** 2 - (4 * 100 * 8) / (11 * 729))).toBeLessThan(0.012);
  });

  test("of 1, 2, 3 is 1.5: mean square step 1 over variance 2/3", () => {
    expect(vonNeumannRatio(Float64Array.of(1, 2, 3))).toBeCloseTo(1.5, 14);
  });
});

describeWith(["scipy"], "against numpy on seeded random columns", () => {
  test("mean, sd with n - 1 and root mean square agree", () => {
    const columns = [normalColumn(1, 2), normalColumn(2, 1001, 1e6, 1e-3), normalColumn(3, 5000, -2, 7)];
    const expected = runPython<number[][]>(
      `import json,sys,numpy as np
def f(v):
    v=np.array(v,dtype=np.longdouble)
    return [float(v.mean()),float(v.std(ddof=1)),float(np.sqrt((v*v).mean()))]
print(json.dumps([f(v) for v in json.load(sys.stdin)]))`,
      columns.map((column) => [...column]),
    );
    columns.forEach((column, i) => {
      const [centre, spread, root] = expected[i] as [number, number, number];
      // numpy in 80-bit arithmetic: ours may differ by a few units of the last place of a double
      expect(relativeError(mean(column), centre)).toBeLessThan(1e-14);
      expect(relativeError(sampleStandardDeviation(column), spread)).toBeLessThan(1e-13);
      expect(relativeError(rootMeanSquare(column), root)).toBeLessThan(1e-14);
    });
  });
});

describe("what they refuse", () => {
  const functions = [
    [mean, 1],
    [rootMeanSquare, 1],
    [sampleStandardDeviation, 2],
    [lagOneAutocorrelation, 2],
    [vonNeumannRatio, 2],
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

  test.each([lagOneAutocorrelation, vonNeumannRatio])("%o has no value for a frozen signal", (statistic) => {
    let thrown: unknown;
    try {
      statistic(Float64Array.of(5, 5, 5));
    } catch (error) {
      thrown = error;
    }
    expect(thrown).toBeInstanceOf(CounterpoiseError);
    expect((thrown as CounterpoiseError).code).toBe("no-spread");
  });
});
