import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { CounterpoiseError, NotFiniteError } from "../../src/foundation/errors.ts";
import {
  correlationOfSpectra,
  fourierTransform,
  inverseFourierTransform,
  nextPowerOfTwo,
} from "../../src/numeric/fourierTransform.ts";
import { describeWith } from "../support/available.ts";
import { runPython } from "../support/run.ts";
import { normalColumn } from "./randomColumns.ts";
import { worstDifference } from "./relativeError.ts";

/** c[k + maximumLag] = sum of a[i] b[i + k], with as many zeros behind both as the lags ask for. */
function crossCorrelation(a: Float64Array, b: Float64Array, maximumLag: number): Float64Array {
  const length = nextPowerOfTwo(Math.max(a.length, b.length) + maximumLag);
  return correlationOfSpectra([[fourierTransform(a, { length }), fourierTransform(b, { length })]], maximumLag);
}

test("crossCorrelation is the plain sum of products, at every lag, whatever the lengths", () => {
  const column = fc.array(fc.double({ min: -100, max: 100, noNaN: true }), { minLength: 1, maxLength: 40 });
  fc.assert(
    fc.property(column, column, fc.integer({ min: 0, max: 60 }), (a, b, maximumLag) => {
      const slow = Float64Array.from({ length: 2 * maximumLag + 1 }, (_, index) =>
        a.reduce((sum, value, i) => sum + value * (b[i + index - maximumLag] ?? 0), 0),
      );
      const found = crossCorrelation(Float64Array.from(a), Float64Array.from(b), maximumLag);
      // |a| |b| is at most 40 x 1e4; rounding 1e-15 of it
      expect(worstDifference(found, slow)).toBeLessThan(1e-9);
    }),
    { seed: 5, numRuns: 150 },
  );
});

test("crossCorrelation peaks at the lag by which b comes later", () => {
  const a = normalColumn(23, 500);
  const b = new Float64Array(500);
  b.set(a.subarray(0, 480), 20);
  const found = crossCorrelation(a, b, 50);
  expect(found.indexOf(Math.max(...found)) - 50).toBe(20);
});

describeWith(["scipy"], "against numpy on seeded random columns", () => {
  test("fourierTransform is numpy.fft.rfft, with and without added zeros", () => {
    const cases = [
      [1, 2],
      [2, 2],
      [4, 4],
      [8, 8],
      [100, 128],
      [1000, 4096],
    ].map(([n, length]) => ({ x: normalColumn(n!, n!), length: length! }));
    const expected = runPython<{ re: number[]; im: number[] }[]>(
      `import json,sys,numpy as np
f=lambda x,n: (lambda s: {"re":list(s.real),"im":list(s.imag)})(np.fft.rfft(np.array(x),n))
print(json.dumps([f(x,n) for x,n in json.load(sys.stdin)]))`,
      cases.map(({ x, length }) => [[...x], length]),
    );
    cases.forEach(({ x, length }, i) => {
      const found = fourierTransform(x, { length });
      // sums of up to 1000 numbers of size 1, each result of size 30
      expect(worstDifference(found.real, expected[i]!.re)).toBeLessThan(1e-12);
      expect(worstDifference(found.imaginary, expected[i]!.im)).toBeLessThan(1e-12);
      expect(worstDifference(inverseFourierTransform(found).subarray(0, x.length), x)).toBeLessThan(1e-14);
    });
  });

  test("crossCorrelation is numpy.correlate", () => {
    const a = normalColumn(1, 700, 2);
    const b = normalColumn(2, 900, -1);
    const expected = runPython<number[]>(
      `import json,sys,numpy as np
a,b=map(np.array,json.load(sys.stdin)); c=np.correlate(b,a,"full"); k=len(a)-1; print(json.dumps(list(c[k-300:k+301])))`,
      [[...a], [...b]],
    );
    // values up to 1400
    expect(worstDifference(crossCorrelation(a, b, 300), expected)).toBeLessThan(1e-10);
  });
});

describe("what they refuse", () => {
  const four = Float64Array.of(1, 2, 3, 4);
  const codeOf = (call: () => unknown): string => {
    try {
      call();
    } catch (error) {
      if (error instanceof CounterpoiseError) return error.code;
    }
    return "none";
  };

  test("lengths that are no power of two, or too short", () => {
    expect(nextPowerOfTwo(1)).toBe(2);
    expect(nextPowerOfTwo(1024)).toBe(1024);
    expect(nextPowerOfTwo(1025)).toBe(2048);
    expect(codeOf(() => fourierTransform(four, { length: 6 }))).toBe("not-a-transform-length");
    expect(codeOf(() => fourierTransform(four, { length: 2 }))).toBe("not-a-transform-length");
  });

  test("NaN", () => {
    const bad = Float64Array.of(1, Number.NaN, 3, 4);
    expect(() => fourierTransform(bad)).toThrow(NotFiniteError);
  });
});
