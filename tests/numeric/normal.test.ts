import { describe, expect, test } from "vitest";
import { CounterpoiseError, NotFiniteError } from "../../src/foundation/errors.ts";
import { normalCdf, normalQuantile } from "../../src/numeric/normal.ts";
import published from "../published/data/distributions.json";
import { describeWith } from "../support/available.ts";
import { runR, rVector } from "../support/run.ts";
import { relativeError, worstRelativeError } from "./relativeError.ts";

test.each(published.rows.filter(({ fn }) => fn.startsWith("norm")))("$fn $args is $value", ({ fn, args, value }) => {
  // an upper tail is the lower one of the mirrored argument
  const found = fn === "norm.ppf" ? normalQuantile(args[0]!) : normalCdf(-args[0]!);
  // 15 printed digits
  expect(relativeError(found, Number(value))).toBeLessThan(1e-14);
});

const evenly = (from: number, to: number, count: number): number[] =>
  Array.from({ length: count }, (_, i) => from + ((to - from) * i) / (count - 1));

describeWith(["r"], "against R's pnorm and qnorm", () => {
  test("normalCdf agrees, also far out in the lower tail", () => {
    // beyond -37.5 the values lose digits: they are less than the smallest normal number
    const z = [...evenly(-37.5, 8.5, 921), 2.4999999, 2.5, -2.4999999, -2.5, -1e-9, 1e-300, 0];
    const expected = runR(`cat(format(pnorm(${rVector(z)}), digits = 17), sep = "\n")`);
    expect(worstRelativeError(z.map(normalCdf), expected)).toBeLessThan(1e-13);
  });

  test("normalQuantile agrees from 1e-300 to near 1", () => {
    // not nearer the middle than 0.49: the same rounding of p then weighs more in z
    const p = [
      ...evenly(-300, -1, 300).map((power) => 10 ** power),
      ...evenly(0.02, 0.48, 47),
      0.7,
      0.95,
      0.9999,
      1 - 1e-12,
    ];
    const expected = runR(`cat(format(qnorm(${rVector(p)}), digits = 17), sep = "\n")`);
    expect(worstRelativeError(p.map(normalQuantile), expected)).toBeLessThan(1e-13);
  });
});

describe("the normal distribution by hand", () => {
  test("84 in 100 lie below one standard deviation above the mean, to fifteen digits", () => {
    // Abramowitz & Stegun (1964), table 26.1: P(1) = 0.84134 47460 68543, from memory
    expect(normalCdf(1)).toBeCloseTo(0.841344746068543, 14);
  });

  test("the ends and the middle", () => {
    expect(normalCdf(0)).toBe(0.5);
    expect(normalCdf(Number.POSITIVE_INFINITY)).toBe(1);
    expect(normalCdf(Number.NEGATIVE_INFINITY)).toBe(0);
    expect(normalQuantile(0.5)).toBeCloseTo(0, 15);
    expect(normalQuantile(0)).toBe(Number.NEGATIVE_INFINITY);
    expect(normalQuantile(1)).toBe(Number.POSITIVE_INFINITY);
  });

  test("near the middle the quantile is the distance from it times the root of 2 pi", () => {
    // the next term is smaller by the square of 1e-6
    expect(relativeError(normalQuantile(0.5 + 2 ** -20), 2 ** -20 * Math.sqrt(2 * Math.PI))).toBeLessThan(5e-12);
    expect(normalQuantile(0.5 - 2 ** -20)).toBe(-normalQuantile(0.5 + 2 ** -20));
  });

  test("what they refuse", () => {
    expect(() => normalCdf(Number.NaN)).toThrow(NotFiniteError);
    for (const p of [-0.1, 1.1, Number.NaN]) expect(() => normalQuantile(p)).toThrow(CounterpoiseError);
  });
});
