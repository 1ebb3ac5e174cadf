import { expect, test } from "vitest";
import { CounterpoiseError, NotFiniteError } from "../../src/foundation/errors.ts";
import { fUpperTail } from "../../src/numeric/fUpperTail.ts";
import { describeWith } from "../support/available.ts";
import { runR, rVector } from "../support/run.ts";
import { relativeError } from "./relativeError.ts";

describeWith(["r"], "Fisher's F against R", () => {
  test("upper tails for whole and broken degrees of freedom", () => {
    const cases = [0.6, 1, 2.7, 6, 11.3].flatMap((d1) =>
      [0.9, 2, 7.4, 30, 400].flatMap((d2) => [0.01, 0.6, 1, 2.4, 9, 120].map((f) => [f, d1, d2] as const)),
    );
    const column = (i: 0 | 1 | 2): string => rVector(cases.map((one) => one[i]));
    const expected = runR(
      `cat(format(pf(${column(0)}, ${column(1)}, ${column(2)}, lower.tail = FALSE), digits = 17), sep = "\\n")`,
    );
    // R's own pbeta holds 14 digits or so
    for (const [i, one] of cases.entries()) expect(relativeError(fUpperTail(...one), expected[i]!)).toBeLessThan(1e-12);
  });
});

test("the ends: nothing below 0, zero at infinity", () => {
  expect(fUpperTail(0, 2, 3)).toBe(1);
  expect(fUpperTail(-1, 2, 3)).toBe(1);
  expect(fUpperTail(Number.POSITIVE_INFINITY, 2, 3)).toBe(0);
  // F with 2 degrees above: (1 + 2 f/d2)^(-d2/2), exactly
  expect(relativeError(fUpperTail(3, 2, 7), (1 + 6 / 7) ** -3.5)).toBeLessThan(1e-14);
  expect(() => fUpperTail(Number.NaN, 2, 3)).toThrow(NotFiniteError);
  expect(() => fUpperTail(1, 0, 3)).toThrow(CounterpoiseError);
});
