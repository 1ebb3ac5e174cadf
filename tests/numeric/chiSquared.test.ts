import { describe, expect, test } from "vitest";
import { chiSquaredQuantile, chiSquaredTails, scaledGamma } from "../../src/numeric/chiSquared.ts";
import published from "../published/data/distributions.json";
import { describeWith } from "../support/available.ts";
import { runR, rVector } from "../support/run.ts";
import { relativeError, worstRelativeError } from "./relativeError.ts";

/** Cumulative distribution: the lower of the two tails. */
const chiSquaredCdf = (x: number, degreesOfFreedom: number): number => chiSquaredTails(x, degreesOfFreedom).lower;

test.each(published.rows.filter(({ fn }) => fn === "chi2.ppf"))("$fn $args is $value", ({ args, value, printed }) => {
  const found = chiSquaredQuantile(args[0]!, args[1]!);
  // 15 printed digits
  expect(relativeError(found, Number(value))).toBeLessThan(1e-14);
  expect(found.toFixed(printed!.split(".")[1]!.length)).toBe(printed);
});

const degrees = [0.1, 0.7, 1, 2, 2.3, 4, 9, 13.7, 30, 31.9, 32, 56, 120, 1000.5, 1e5];

describeWith(["r"], "against R's pchisq, qchisq and gamma", () => {
  test("chiSquaredCdf agrees, small lower tails included", () => {
    const ratios = [1e-30, 1e-6, 0.01, 0.1, 0.3, 0.7, 0.9, 0.97, 0.999, 1, 1.001, 1.02, 1.1, 1.5, 3, 10];
    const cases = degrees.flatMap((df) => ratios.map((ratio) => [ratio * df, df] as const));
    const found = cases.map(([x, df]) => chiSquaredCdf(x, df));
    const expected = runR(
      `cat(format(pchisq(${rVector(cases.map(([x]) => x))}, ${rVector(cases.map(([, df]) => df))}), digits = 17), sep = "\n")`,
    );
    // tails down to 1e-300 and below: an exponent of 700 costs three digits of sixteen. R gives what is less than 1e-300 as it comes
    const seen = expected.map((value, i) =>
      value > 1e-290 ? relativeError(found[i]!, value) : found[i]! > 1e-289 ? 1 : 0,
    );
    expect(Math.max(...seen)).toBeLessThan(1e-12);
  });

  test("chiSquaredQuantile agrees", () => {
    const p = [1e-12, 1e-5, 0.001, 0.025, 0.05, 0.2, 0.4, 0.4999, 0.5, 0.6, 0.8, 0.95, 0.975, 0.9999];
    const cases = degrees.flatMap((df) => p.map((value) => [value, df] as const));
    const found = cases.map(([value, df]) => chiSquaredQuantile(value, df));
    const expected = runR(
      `cat(format(qchisq(${rVector(cases.map(([value]) => value))}, ${rVector(cases.map(([, df]) => df))}), digits = 17), sep = "\n")`,
    );
    expect(worstRelativeError(found, expected)).toBeLessThan(1e-12);
  });

  test("scaledGamma agrees with R's gamma function", () => {
    // to 10; above it R's own passes through a logarithm
    const a = [0.01, 0.35, 0.5, 1, 2.5, 7.75, 10];
    const expected = runR(
      `a <- ${rVector(a)}; cat(format(gamma(a) / (sqrt(2 * pi / a) * (a / exp(1))^a), digits = 17), sep = "\n")`,
    );
    expect(worstRelativeError(a.map(scaledGamma), expected)).toBeLessThan(2e-14);
  });
});

describe("chi-squared by hand", () => {
  test("two degrees of freedom are an exponential distribution", () => {
    for (const x of [1e-9, 0.3, 2, 9, 40]) {
      expect(relativeError(chiSquaredCdf(x, 2), -Math.expm1(-x / 2))).toBeLessThan(1e-14);
    }
    for (const p of [1e-9, 0.25, 0.5, 0.9]) {
      expect(relativeError(chiSquaredQuantile(p, 2), -2 * Math.log1p(-p))).toBeLessThan(1e-13);
    }
  });

  test("scaledGamma of whole numbers is a factorial", () => {
    for (const n of [1, 2, 5, 15, 16, 17, 40]) {
      let factorial = 1;
      for (let k = 2; k < n; k++) factorial *= k;
      const exact = factorial / (Math.sqrt((2 * Math.PI) / n) * (n / Math.E) ** n);
      // n / e is rounded, and its n-th power shows that
      expect(relativeError(scaledGamma(n), exact)).toBeLessThan(2e-14);
    }
  });

  test("the ends", () => {
    expect(chiSquaredCdf(0, 3)).toBe(0);
    expect(chiSquaredCdf(Number.POSITIVE_INFINITY, 3)).toBe(1);
    expect(chiSquaredQuantile(0, 3)).toBe(0);
    expect(chiSquaredQuantile(1, 3)).toBe(Number.POSITIVE_INFINITY);
    // 1e-12 to the power of 200: no such number
    expect(chiSquaredQuantile(1e-12, 0.01)).toBe(0);
  });

  test("what they refuse", () => {
    for (const df of [0, -1, Number.NaN, Number.POSITIVE_INFINITY]) {
      expect(() => chiSquaredQuantile(0.9, df)).toThrow(`degrees of freedom above 0, found ${df}`);
    }
    expect(() => chiSquaredQuantile(1.5, 3)).toThrow("probability from 0 to 1, found 1.5");
  });
});
