import fc from "fast-check";
import { expect, test } from "vitest";
import { shareWithin } from "../../src/metrics/shareWithin.ts";

test("counts what is no longer than the tolerance, the limit itself within", () => {
  expect(shareWithin(Float64Array.of(0.01, 0.02, 0.03, 0.04), 0.02)).toBe(0.5);
  expect(shareWithin(Float64Array.of(0.021, 0.03), 0.02)).toBe(0);
  expect(shareWithin(new Float64Array(0), 0.02)).toBeNull();
});

test("is the rank of the tolerance among the lengths, in any order, and grows with it", () => {
  const lengths = fc.array(fc.double({ min: 0, max: 1, noNaN: true }), { minLength: 1, maxLength: 50 });
  fc.assert(
    fc.property(lengths, fc.double({ min: 0, max: 1, noNaN: true }), (list, tolerance) => {
      const sorted = Float64Array.from(list).sort();
      const rank = sorted.findIndex((length) => length > tolerance);
      const share = shareWithin(Float64Array.from(list), tolerance)!;
      expect(share).toBe((rank < 0 ? list.length : rank) / list.length);
      expect(shareWithin(Float64Array.from(list), 2 * tolerance)!).toBeGreaterThanOrEqual(share);
    }),
    { seed: 3, numRuns: 200 },
  );
});
