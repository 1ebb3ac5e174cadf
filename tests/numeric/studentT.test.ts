import { describe, expect, test } from "vitest";
import { CounterpoiseError, NotFiniteError } from "../../src/foundation/errors.ts";
import { gammaHalfRatio } from "../../src/numeric/chiScale.ts";
import { incompleteBetaFraction } from "../../src/numeric/fUpperTail.ts";
import { studentTCdf, studentTQuantile } from "../../src/numeric/studentT.ts";
import published from "../published/data/student-t.json";
import { describeWith } from "../support/available.ts";
import { runR, rVector } from "../support/run.ts";
import { relativeError, worstRelativeError } from "./relativeError.ts";

describe("tables of Student's t", () => {
  test.each(published.rows)("$fn $args is $value", ({ fn, args, value, printed }) => {
    const [first, degrees] = args as [number, number];
    // a lower tail is asked for where the upper one is printed: 1 - cdf would lose digits
    const found =
      fn === "t.ppf" ? studentTQuantile(first, degrees) : studentTCdf(fn === "t.sf" ? -first : first, degrees);
    // 15 printed digits
    expect(relativeError(found, Number(value))).toBeLessThan(1e-13);
    if (printed !== null) {
      const decimals = printed.split(".")[1]?.length ?? 0;
      expect(found.toFixed(decimals)).toBe(printed);
    }
  });
});

const degrees = [0.7, 1, 2.3, 4, 9, 13.7, 30, 56, 120, 400, 3000];
const outer = (first: readonly number[], name: string): number[] =>
  runR(`cat(format(as.vector(outer(${rVector(first)}, ${rVector(degrees)}, ${name})), digits = 17), sep = "\n")`);

describeWith(["r"], "against R's pt and qt", () => {
  test("studentTCdf agrees, small lower tails included", () => {
    const t = [-300, -40, -12, -6, -3, -2, -1.3, -1, -0.5, -0.1, -1e-3, -1e-8, 0, 0.2, 1.1, 2.5, 5];
    const found = degrees.flatMap((df) => t.map((value) => studentTCdf(value, df)));
    // tails down to 1e-200: an exponent of 500 costs three digits of sixteen
    expect(worstRelativeError(found, outer(t, "pt"))).toBeLessThan(5e-13);
  });

  test("studentTQuantile agrees", () => {
    // not nearer the middle than 0.49: R's own quantile there is good to 5e-13 only (checked against pt)
    const p = [1e-8, 1e-5, 0.001, 0.005, 0.025, 0.05, 0.1, 0.2, 0.3, 0.4, 0.49, 0.55, 0.7, 0.9, 0.95, 0.975, 0.995];
    const found = degrees.flatMap((df) => p.map((value) => studentTQuantile(value, df)));
    expect(worstRelativeError(found, outer(p, "qt"))).toBeLessThan(1e-13);
  });

  test("gammaHalfRatio agrees with R's gamma function", () => {
    // below 10; above it R's gamma function passes through a logarithm and holds 13 digits
    const z = [0.05, 0.35, 0.5, 1, 2.5, 7.75, 9.4];
    const expected = runR(`z <- ${rVector(z)}; cat(format(gamma(z + 0.5) / gamma(z), digits = 17), sep = "\n")`);
    expect(worstRelativeError(z.map(gammaHalfRatio), expected)).toBeLessThan(2e-14);
  });

  test("incompleteBetaFraction gives R's pbeta", () => {
    const cases = [
      [0.1, 0.5, 3],
      [0.3, 2, 5],
      [0.01, 200, 0.5],
      [0.6, 40, 20.5],
    ] as const;
    const column = (part: 0 | 1 | 2): string => rVector(cases.map((one) => one[part]));
    const values = runR(
      `x <- ${column(0)}; a <- ${column(1)}; b <- ${column(2)}; cat(format(c(pbeta(x, a, b), x^a * (1 - x)^b / (a * beta(a, b))), digits = 17), sep = "\n")`,
    );
    const found = cases.map(([x, a, b], i) => values[cases.length + i]! * incompleteBetaFraction(x, a, b));
    // the factor in front comes from R: this checks the fraction alone
    expect(worstRelativeError(found, values.slice(0, cases.length))).toBeLessThan(1e-12);
  });
});

describe("Student's t by hand", () => {
  test("gammaHalfRatio at whole numbers is a product: root of pi (n - 1/2) times all (k - 1/2) / k below n", () => {
    for (const n of [1, 2, 15, 16, 17, 60, 150]) {
      let exact = Math.sqrt(Math.PI) * (n - 0.5);
      for (let k = 1; k < n; k++) exact *= (k - 0.5) / k;
      // up to 300 roundings, at random half a unit each
      expect(relativeError(gammaHalfRatio(n), exact)).toBeLessThan(5e-15);
    }
  });

  test("one degree of freedom is Cauchy's distribution: arc tangents", () => {
    for (const t of [-1e6, -3, -0.2, 0.01, 1, 50]) {
      const exact = t < 0 ? Math.atan2(1, -t) / Math.PI : 0.5 + Math.atan(t) / Math.PI;
      expect(relativeError(studentTCdf(t, 1), exact)).toBeLessThan(1e-14);
    }
  });

  test("two degrees of freedom: t = (2p - 1) / sqrt(2 p (1 - p))", () => {
    for (const p of [1e-12, 0.001, 0.3, 0.499, 0.6, 0.999]) {
      const exact = (2 * p - 1) / Math.sqrt(2 * p * (1 - p));
      expect(relativeError(studentTQuantile(p, 2), exact)).toBeLessThan(1e-13);
    }
  });

  test("the ends and the middle", () => {
    expect(studentTCdf(0, 3)).toBe(0.5);
    expect(studentTCdf(Number.POSITIVE_INFINITY, 3)).toBe(1);
    expect(studentTCdf(Number.NEGATIVE_INFINITY, 3)).toBe(0);
    expect(studentTQuantile(0.5, 3)).toBe(0);
    expect(studentTQuantile(0, 3)).toBe(Number.NEGATIVE_INFINITY);
    expect(studentTQuantile(1, 3)).toBe(Number.POSITIVE_INFINITY);
  });

  test("what they refuse", () => {
    expect(() => studentTCdf(Number.NaN, 3)).toThrow(NotFiniteError);
    for (const df of [0, -1, Number.NaN, Number.POSITIVE_INFINITY]) {
      expect(() => studentTCdf(1, df)).toThrow(`degrees of freedom above 0, found ${df}`);
      expect(() => studentTQuantile(0.9, df)).toThrow(CounterpoiseError);
    }
    expect(() => studentTQuantile(1.5, 3)).toThrow("probability from 0 to 1, found 1.5");
  });
});

test("from 1e5 degrees of freedom on the quantile goes over into the normal one without a step", () => {
  // exact limit: the normal quantile (R's qnorm to all digits), approached by (z^3 + z) / (4 df), Abramowitz and Stegun 26.7.5
  const z = 1.959963984540054;
  for (const df of [0.999e5, 1.001e5, 1e7, 1e9, 1e12, 1e15]) {
    const scaled = (studentTQuantile(0.975, df) - z) * df;
    const terms = (z ** 3 + z) / 4 + (5 * z ** 5 + 16 * z ** 3 + 3 * z) / 96 / df;
    // twelve digits of a number near 2
    expect(Math.abs(scaled - terms)).toBeLessThan(2e-12 * df);
  }
  expect(studentTQuantile(0.025, 1e15)).toBeCloseTo(-studentTQuantile(0.975, 1e15), 13);
});

test("gammaHalfRatio gives Hedges's factor J(m) = Gamma(m/2)/(sqrt(m/2) Gamma((m - 1)/2))", () => {
  // L. V. Hedges, J. Educ. Stat. 6 (1981) 107-128 (from memory); its last digit is one off at m = 10
  const factor = (m: number): number => gammaHalfRatio((m - 1) / 2) / Math.sqrt(m / 2);
  for (const [m, printed] of [
    [2, 0.5642],
    [4, 0.7979],
    [10, 0.9228],
  ] as const)
    expect(Math.abs(factor(m) - printed)).toBeLessThan(6e-5);
});
