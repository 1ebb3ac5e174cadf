import { expect, test } from "vitest";
import { gather, gatherBy } from "../../src/numeric/sortedColumns.ts";

const column = Float64Array.of(10, 11, 12, 13);

test("rows in any order, repeated or left out, are picked in their order", () => {
  expect([...gather(column, Uint32Array.of(2, 0, 0, 3))]).toEqual([12, 10, 10, 13]);
  expect([...gather(column, Uint32Array.of(0, 1, 3))]).toEqual([10, 11, 13]);
  expect([...gather(column, Uint32Array.of(3, 1, 9), 2)]).toEqual([13, 11]);
  expect(gather(column, new Uint32Array(0))).toHaveLength(0);
});

test("rows that follow one another are handed out as they lie, not copied", () => {
  expect(gather(column, Uint32Array.of(0, 1, 2, 3))).toBe(column);
  const middle = gather(column, Uint32Array.of(1, 2));
  expect([...middle]).toEqual([11, 12]);
  expect(middle.buffer).toBe(column.buffer);
});

test("several columns by the same rows: each as by itself, whatever its length", () => {
  const take = gatherBy(Uint32Array.of(0, 1));
  expect([...take(column)]).toEqual([10, 11]);
  const short = Float64Array.of(1, 2);
  expect(take(short)).toBe(short);
  // the rows swapped are no run
  expect([...gatherBy(Uint32Array.of(1, 0))(short)]).toEqual([2, 1]);
});
