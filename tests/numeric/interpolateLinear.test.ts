import { describe, expect, test } from "vitest";
import { CounterpoiseError } from "../../src/foundation/errors.ts";
import { interpolateLinear } from "../../src/numeric/interpolateLinear.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { describeWith } from "../support/available.ts";
import { runPython } from "../support/run.ts";
import { normalColumn } from "./randomColumns.ts";
import { worstDifference } from "./relativeError.ts";

const { NaN: nan } = Number;

test("straight lines between points, the points themselves, NaN outside", () => {
  const found = interpolateLinear(
    Float64Array.of(0, 2, 3),
    Float64Array.of(0, 6, -1),
    Float64Array.of(-0.1, 0, 1, 2, 2, 2.5, 3, 3.1),
  );
  expect([...found]).toEqual([nan, 0, 3, 6, 6, 2.5, -1, nan]);
});

test("a marked gap stays marked on both sides, and the points beside it are kept", () => {
  const found = interpolateLinear(
    Float64Array.of(0, 1, 2, 3),
    Float64Array.of(5, nan, 7, 9),
    Float64Array.of(0, 0.5, 1, 1.5, 2, 2.5),
  );
  expect([...found]).toEqual([5, nan, nan, nan, 7, 8]);
});

test("one point serves its own instant only, none serves none", () => {
  expect([...interpolateLinear(Float64Array.of(1), Float64Array.of(4), Float64Array.of(0, 1, 2))]).toEqual([
    nan,
    4,
    nan,
  ]);
  const none = new Float64Array(0);
  expect([...interpolateLinear(none, none, Float64Array.of(0, 1))]).toEqual([nan, nan]);
});

describeWith(["scipy"], "against numpy.interp on seeded random times", () => {
  test("agrees on irregular times", () => {
    const random = seededRandom(77);
    const times = (n: number): Float64Array => Float64Array.from({ length: n }, () => 100 * random.uniform()).sort();
    const source = times(800);
    const values = normalColumn(78, 800);
    const target = times(3000);
    const expected = runPython<(number | null)[]>(
      `import json,sys,numpy as np
s,v,t=map(np.array,json.load(sys.stdin)); r=np.interp(t,s,v,left=np.nan,right=np.nan)
print(json.dumps([None if np.isnan(x) else x for x in r]))`,
      [[...source], [...values], [...target]],
    );
    const found = interpolateLinear(source, values, target);
    expect([...found].map(Number.isNaN)).toEqual(expected.map((value) => value === null));
    const inside = expected.flatMap((value, i) => (value === null ? [] : [[found[i]!, value] as const]));
    expect(inside.length).toBeGreaterThan(2900);
    // times up to 100 divided by intervals down to 1e-5: the same formula in another order
    expect(
      worstDifference(
        inside.map(([one]) => one),
        inside.map(([, other]) => other),
      ),
    ).toBeLessThan(1e-12);
  });
});

describe("what it refuses", () => {
  const two = Float64Array.of(0, 1);
  test.each([
    ["source times that repeat", Float64Array.of(0, 0), two],
    ["source times that go back", Float64Array.of(1, 0), two],
    ["a source time that is NaN", Float64Array.of(nan, 1), two],
    ["target times that go back", two, Float64Array.of(0.5, 0.4)],
    ["a target time that is NaN", two, Float64Array.of(0.5, nan)],
  ])("%s", (_, source, target) => {
    expect(() => interpolateLinear(source, two, target)).toThrow(CounterpoiseError);
    expect(() => interpolateLinear(source, two, target)).toThrow("in ascending order");
  });

  test("columns of unequal length", () => {
    expect(() => interpolateLinear(two, Float64Array.of(1), two)).toThrow("found 2 and 1");
  });
});
