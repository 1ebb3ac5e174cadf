import { expect, test } from "vitest";
import { difference } from "../../src/numeric/sortedColumns.ts";

test("what is missing on either side stays missing, and values past the first column's end are not read", () => {
  const measured = Float64Array.of(3, Number.NaN, 2);
  const asked = Float64Array.of(1, 1, Number.NaN, 9);
  expect(difference(measured, asked)).toEqual(Float64Array.of(2, Number.NaN, Number.NaN));
  expect(difference(new Float64Array(0), Float64Array.of(1))).toEqual(new Float64Array(0));
});
