import fc from "fast-check";
import { expect, test } from "vitest";
import { overlapWith, validFraction } from "../../src/alignment/validFraction.ts";
import { evenTimes } from "./signals.ts";

test("an even track fills its window", () => {
  expect(validFraction(evenTimes(100, 10), 0.01, [1, 9], 2.5)).toBe(1);
});

test("a second missing of eight costs an eighth, whole window ends included", () => {
  const t = evenTimes(100, 10).filter((time) => time < 4 || time > 5);
  // lost: the step from 3.99 to 5.01 less one interval, 1.01 s of 8
  expect(validFraction(t, 0.01, [1, 9], 2.5)).toBeCloseTo(1 - 1.01 / 8, 9);
});

test("a track that ends inside the window loses the rest of it", () => {
  // 1 to 4.99 of 1 to 9: what is missing is 9.005 - 4.99 - 0.01
  expect(validFraction(evenTimes(100, 5), 0.01, [1, 9], 2.5)).toBeCloseTo(1 - 4.005 / 8, 9);
});

test("a track without samples in the window is worth nothing, to one interval, and a window without length too", () => {
  // bounds: the two ends count as samples, so one interval less the half ones beyond the ends remains
  expect(validFraction(evenTimes(100, 1), 0.01, [5, 6], 2.5)).toBeLessThanOrEqual(0.01);
  expect(validFraction(evenTimes(100, 1), 0.01, [0.5, 0.5], 2.5)).toBe(0);
});

test("lost samples cost their share, however they are scattered in gaps", () => {
  fc.assert(
    fc.property(fc.uniqueArray(fc.integer({ min: 1, max: 18 }), { minLength: 1, maxLength: 9 }), (gone) => {
      const t = evenTimes(100, 20).filter((_, i) => !gone.includes(Math.floor(i / 100)));
      // seconds gone; each gap's share is exact to one sample interval
      expect(validFraction(t, 0.01, [0, 20], 2.5)).toBeCloseTo(1 - gone.length / 20, 2);
    }),
    { seed: 91, numRuns: 50 },
  );
});

test("overlapWith sums what stretches and window share", () => {
  expect(
    overlapWith(
      [
        [0, 2],
        [3, 4],
        [9, 12],
      ],
      [1, 10],
    ),
  ).toBe(1 + 1 + 1);
  expect(overlapWith([], [1, 10])).toBe(0);
  expect(overlapWith([[11, 12]], [1, 10])).toBe(0);
});
