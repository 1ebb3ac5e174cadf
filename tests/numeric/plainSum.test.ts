import { expect, test } from "vitest";
import { compensatedSum, plainSum, plainSumOfSquares } from "../../src/numeric/descriptive.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";

test("small whole numbers add up exactly, over all of a column or a part of it", () => {
  const values = Float64Array.of(1, 2, 6, -4);
  expect(plainSum(values)).toBe(5);
  expect(plainSum(values, 1, 3)).toBe(8);
  expect(plainSum(values, 2, 2)).toBe(0);
  expect(plainSumOfSquares(values)).toBe(57);
  // 4 + 1 + 9 + 49
  expect(plainSumOfSquares(values, 3)).toBe(63);
  expect(plainSumOfSquares(new Float64Array(0))).toBe(0);
});

test("every length and every beginning: the numbers 1 to n, by Gauss, and their squares", () => {
  for (let n = 0; n <= 13; n++) {
    const values = Float64Array.from({ length: n }, (_, i) => i + 1);
    expect(plainSumOfSquares(values)).toBe((n * (n + 1) * (2 * n + 1)) / 6);
    for (let from = 0; from <= n; from++)
      for (let to = from; to <= n; to++)
        expect(plainSum(values, from, to)).toBe((to * (to + 1)) / 2 - (from * (from + 1)) / 2);
  }
});

test("NaN anywhere makes NaN", () => {
  expect(plainSum(Float64Array.of(1, Number.NaN, 2))).toBeNaN();
  expect(plainSumOfSquares(Float64Array.of(1, Number.NaN, 2))).toBeNaN();
});

test("a million readings differ from the compensated sum by less than n times the rounding of the sum of sizes", () => {
  const random = seededRandom(5);
  const values = Float64Array.from({ length: 1_000_000 }, () => 1 + 0.1 * random.normal());
  // the classic bound (n - 1) u sum |x|, u = 2^-53: 1e6 * 1.1e-16 * 1e6
  expect(Math.abs(plainSum(values) - compensatedSum(values))).toBeLessThan(1.2e-4);
});
