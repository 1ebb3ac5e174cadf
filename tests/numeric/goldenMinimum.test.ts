import fc from "fast-check";
import { expect, test } from "vitest";
import { goldenMinimum } from "../../src/numeric/goldenMinimum.ts";

test("finds the bottom of a parabola", () => {
  // near its bottom a parabola of height h is flat in double precision over sqrt(1e-16 h): nothing better than 1e-8 is asked
  expect(Math.abs(goldenMinimum((x) => (x - 2) ** 2, 0, 5, 1e-9) - 2)).toBeLessThan(1e-9);
});

test("finds the minimum of x log x at 1 / e, and of a cosine at pi", () => {
  expect(Math.abs(goldenMinimum((x) => x * Math.log(x), 0.01, 1, 1e-7) - 1 / Math.E)).toBeLessThan(1e-7);
  expect(Math.abs(goldenMinimum(Math.cos, 2, 5, 1e-7) - Math.PI)).toBeLessThan(1e-7);
});

test("finds a corner anywhere in its bracket, ends included, to half the tolerance", () => {
  fc.assert(
    fc.property(
      fc.double({ min: -3, max: 7, noNaN: true }),
      fc.double({ min: 0.1, max: 20, noNaN: true }),
      (at, steep) => {
        const found = goldenMinimum((x) => (x < at ? at - x : steep * (x - at)), -3, 7, 1e-6);
        // the bracket that holds the corner is at most 1e-6 wide, and its middle is given
        expect(Math.abs(found - at)).toBeLessThanOrEqual(0.5e-6 + 1e-12);
      },
    ),
    { seed: 20261125, numRuns: 300 },
  );
});

test("a function that only falls or only rises has its minimum at an end", () => {
  expect(goldenMinimum((x) => -x, 0, 1, 1e-6)).toBeGreaterThan(1 - 1e-6);
  expect(goldenMinimum((x) => x, 0, 1, 1e-6)).toBeLessThan(1e-6);
});

test("asks no more often than the golden ratio needs", () => {
  let calls = 0;
  goldenMinimum(
    (x) => {
      calls++;
      return (x - 0.3) ** 2;
    },
    0,
    1,
    1e-6,
  );
  // 0.618^n < 1e-6 from n = 29; two to begin with, one for each narrowing
  expect(calls).toBe(31);
});
