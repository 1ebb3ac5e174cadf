import fc from "fast-check";
import { expect, test } from "vitest";
import { brentMinimum } from "../../src/numeric/brentMinimum.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { describeWith } from "../support/available.ts";
import { runPython } from "../support/run.ts";

test("finds the bottom of a parabola", () => {
  // near its bottom a parabola of height h is flat in double precision over sqrt(1e-16 h): nothing better than 1e-8 is asked
  expect(Math.abs(brentMinimum((x) => (x - 2) ** 2, 0, 5, 1e-9) - 2)).toBeLessThan(1e-9);
});

test("finds the minimum of x log x at 1 / e, and of a cosine at pi", () => {
  expect(Math.abs(brentMinimum((x) => x * Math.log(x), 0.01, 1, 1e-7) - 1 / Math.E)).toBeLessThan(1e-7);
  expect(Math.abs(brentMinimum(Math.cos, 2, 5, 1e-7) - Math.PI)).toBeLessThan(1e-7);
});

test("finds a corner anywhere in its bracket, ends included, to half the tolerance", () => {
  fc.assert(
    fc.property(
      fc.double({ min: -3, max: 7, noNaN: true }),
      fc.double({ min: 0.1, max: 20, noNaN: true }),
      (at, steep) => {
        const found = brentMinimum((x) => (x < at ? at - x : steep * (x - at)), -3, 7, 1e-6);
        // the bracket that holds the corner is at most 1e-6 wide, and its middle is given
        expect(Math.abs(found - at)).toBeLessThanOrEqual(0.5e-6 + 1e-12);
      },
    ),
    { seed: 20261125, numRuns: 300 },
  );
});

test("a function that only falls or only rises has its minimum at an end", () => {
  expect(brentMinimum((x) => -x, 0, 1, 1e-6)).toBeGreaterThan(1 - 1e-6);
  expect(brentMinimum((x) => x, 0, 1, 1e-6)).toBeLessThan(1e-6);
});

test("asks a handful of times for a smooth minimum, where the golden ratio alone needs thirty", () => {
  let calls = 0;
  const counted = (cost: (x: number) => number) => (x: number) => {
    calls++;
    return cost(x);
  };
  brentMinimum(
    counted((x) => (x - 0.3) ** 2),
    0,
    1,
    1e-6,
  );
  // one to begin with, two sections, the parabola that is the function itself, and a look on either side
  expect(calls).toBeLessThanOrEqual(7);
  calls = 0;
  brentMinimum(
    counted((x) => -Math.exp(-((x - 0.7) ** 2) / 0.5) + 0.1 * x),
    0,
    1,
    1e-6,
  );
  // 0.618^n < 1e-6 from n = 29
  expect(calls).toBeLessThanOrEqual(12);
});

test("a function that is endless on one side still has its minimum on the other", () => {
  const cost = (x: number): number => (x < 0.2 ? Number.POSITIVE_INFINITY : (x - 0.4) ** 2);
  expect(Math.abs(brentMinimum(cost, 0, 1, 1e-6) - 0.4)).toBeLessThan(1e-6);
});

test("ends whatever it is given", () => {
  const costs = [
    () => 1,
    () => Number.NaN,
    () => Number.POSITIVE_INFINITY,
    (x: number) => Math.floor(x * 1e3),
    Math.abs,
  ];
  for (const cost of costs)
    for (const [from, to] of [
      [0, 1],
      [1e6, 1e6 + 1],
      [-1e9, -1e9 + 1],
      [3, 3],
      [0, 1e-300],
    ] as const)
      for (const tolerance of [1e-3, 1e-12, 1e-17, 0, -1]) {
        let calls = 0;
        const counted = (x: number): number => {
          calls++;
          return cost(x);
        };
        const found = brentMinimum(counted, from, to, tolerance);
        expect(found).toBeGreaterThanOrEqual(from);
        expect(found).toBeLessThanOrEqual(to);
        // 0.618^n of the bracket is a unit of its last place from n = 76 on; from 1e-300 to the least number 60 more
        expect(calls).toBeLessThan(200);
      }
  for (const [from, to, tolerance] of [
    [0, 1, Number.NaN],
    [Number.NaN, 1, 1e-3],
    [0, Number.NaN, 1e-3],
    [0, Number.POSITIVE_INFINITY, 1e-3],
  ] as const)
    expect(brentMinimum(Math.abs, from, to, tolerance)).toBeNaN();
});

describeWith(["scipy"], "against scipy.optimize.minimize_scalar", () => {
  test("one valley of random place, depth and lean: the same minimum", () => {
    const random = seededRandom(77);
    const cases = Array.from({ length: 60 }, () => [
      -2 + 4 * random.uniform(),
      0.2 + 3 * random.uniform(),
      -0.8 + 1.6 * random.uniform(),
    ]);
    const expected = runPython<number[]>(
      `import json,sys,math
from scipy.optimize import minimize_scalar
print(json.dumps([minimize_scalar(lambda x: math.log(math.cosh((x-m)/w))+0.3*s*(x-m)/w, bounds=(-4,5), method="bounded", options={"xatol":1e-10}).x for m,w,s in json.load(sys.stdin)]))`,
      cases,
    );
    cases.forEach(([m, w, s], k) => {
      const cost = (x: number): number => Math.log(Math.cosh((x - m!) / w!)) + (0.3 * s! * (x - m!)) / w!;
      // half the tolerance, and what scipy's own answer is worth: the function is flat to 1e-16 over 1e-8 of its width
      expect(Math.abs(brentMinimum(cost, -4, 5, 1e-6) - expected[k]!)).toBeLessThan(0.5e-6 + 1e-7);
    });
  });
});
