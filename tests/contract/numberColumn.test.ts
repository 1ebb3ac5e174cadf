import { expect, test } from "vitest";
import { allanSchema, numberColumn } from "../../src/contract/runExtras.ts";

test("a column of finite numbers passes, an empty one too", () => {
  expect(numberColumn.parse([0, -1.5, 3e300])).toEqual([0, -1.5, 3e300]);
  expect(numberColumn.parse([])).toEqual([]);
});

test("what JSON cannot hold, or holds as something else, is refused with its place", () => {
  const fault = (value: unknown) => numberColumn.safeParse(value).error?.issues[0]?.message;
  expect(fault([1, Number.NaN])).toBe("found NaN at index 1, expected a finite number");
  expect(fault([Number.POSITIVE_INFINITY])).toBe("found Infinity at index 0, expected a finite number");
  expect(fault([1, 2, "3"])).toBe('found "3" at index 2, expected a finite number');
  expect(fault([1, null])).toBe("found null at index 1, expected a finite number");
  // a hole is no number either
  expect(fault(new Array(2))).toBe("found undefined at index 0, expected a finite number");
  expect(fault([[1]])).toBe("found an array at index 0, expected a finite number");
  expect(fault([{ toString: 1 }])).toBe("found an object at index 0, expected a finite number");
  expect(fault(null)).toBe("found null, expected an array of numbers");
  expect(fault("1, 2")).toBe('found "1, 2", expected an array of numbers');
  expect(fault(Float64Array.of(1))).toBe("found an object, expected an array of numbers");
});

test("a column inside a part of the evaluation keeps its path", () => {
  const axis = { deviation: [1], low: [1], high: [Number.NaN] };
  const found = allanSchema.safeParse({ vehicle: { tau: [1], x: axis, y: axis, z: axis, level: 0.68 } });
  expect(found.error?.issues[0]?.path).toEqual(["vehicle", "x", "high"]);
});
