import fc from "fast-check";
import { expect, test } from "vitest";
import { lowerBound } from "../../src/numeric/sortedColumns.ts";

test("the first index that is not below the limit, with repeated values and beyond both ends", () => {
  const column = Float64Array.of(1, 2, 2, 3);
  expect([0, 1, 1.5, 2, 2.5, 3, 4].map((limit) => lowerBound(column, limit))).toEqual([0, 0, 1, 1, 3, 3, 4]);
  expect(lowerBound(new Float64Array(0), 1)).toBe(0);
});

test("it counts the values below the limit, whatever the column", () => {
  fc.assert(
    fc.property(fc.array(fc.integer({ min: -20, max: 20 })), fc.integer({ min: -21, max: 21 }), (values, limit) => {
      const column = Float64Array.from(values).sort();
      return lowerBound(column, limit) === values.filter((value) => value < limit).length;
    }),
    { seed: 3 },
  );
});
