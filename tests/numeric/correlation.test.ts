import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { CounterpoiseError, NotFiniteError } from "../../src/foundation/errors.ts";
import { crossCorrelation } from "../../src/numeric/crossCorrelation.ts";
import { crossSpectrumDelay } from "../../src/numeric/crossSpectrumDelay.ts";
import { fourierTransform, inverseFourierTransform, nextPowerOfTwo } from "../../src/numeric/fourierTransform.ts";
import { parabolicPeak } from "../../src/numeric/parabolicPeak.ts";
import { phaseTransformCorrelation } from "../../src/numeric/phaseTransformCorrelation.ts";
import { describeWith } from "../support/available.ts";
import { runPython } from "../support/run.ts";
import { normalColumn } from "./randomColumns.ts";
import { worstDifference } from "./relativeError.ts";

/** a sum of three cosines of a 256-point circle, delayed by part samples */
function threeTones(delay: number, n = 256): Float64Array {
  const tones = [
    [1, 3, 0.3],
    [0.5, 7, 1.1],
    [0.25, 19, -0.7],
  ] as const;
  return Float64Array.from({ length: n }, (_, i) =>
    tones.reduce((sum, [a, f, p]) => sum + a * Math.cos((2 * Math.PI * f * (i - delay)) / n + p), 0),
  );
}

test("the phase slope of the cross-spectrum gives a delay of 3.37 samples", () => {
  // derived; method Knapp & Carter (1976)
  expect(Math.abs(crossSpectrumDelay(threeTones(0), threeTones(3.37), [3, 7, 19]) - 3.37)).toBeLessThan(1e-10);
  expect(Math.abs(crossSpectrumDelay(threeTones(3.37), threeTones(0), [3, 7, 19]) + 3.37)).toBeLessThan(1e-10);
  // bins in any order, a number of samples that is no power of two, a phase that must be unwrapped at bins 7 and 19
  expect(Math.abs(crossSpectrumDelay(threeTones(0, 300), threeTones(31.6, 300), [19, 3, 7]) - 31.6)).toBeLessThan(1e-9);
});

test("phase-transform correlation of noise and its shift by 5 is a unit impulse at 5", () => {
  // derived; method Knapp & Carter (1976)
  const x = normalColumn(17, 256);
  const shifted = x.map((_, i) => x[(i - 5 + 256) % 256]!);
  const impulse = new Float64Array(256);
  impulse[5] = 1;
  expect(worstDifference(phaseTransformCorrelation(x, shifted), impulse)).toBeLessThan(1e-10);
});

test("parabolicPeak on a cosine has the bias it is said to have", () => {
  // by hand: on cos(w (k - d)) at k = -1, 0, 1 the estimate is 0.5 tan(w d) / tan(w / 2), not d
  for (const w of [0.01, 0.3, 1]) {
    for (const d of [-0.45, -0.1, 0, 0.2, 0.49]) {
      const at = (k: number): number => Math.cos(w * (k - d));
      const expected = (0.5 * Math.tan(w * d)) / Math.tan(w / 2);
      // at w = 0.01 the three values differ by 1e-4 only: 16 digits less 4 less the division
      expect(Math.abs(parabolicPeak(at(-1), at(0), at(1)) - expected)).toBeLessThan(w < 0.1 ? 1e-10 : 1e-12);
    }
  }
  expect(parabolicPeak(0, 3, 2)).toBe(0.25);
  expect(parabolicPeak(0, -3, -2)).toBe(0.25);
});

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
    expect(codeOf(() => phaseTransformCorrelation(four.slice(0, 3), four.slice(0, 3)))).toBe("not-a-transform-length");
    expect(codeOf(() => phaseTransformCorrelation(four, four.slice(0, 2)))).toBe("unequal-lengths");
    expect(codeOf(() => crossSpectrumDelay(four, four.slice(0, 2), [1]))).toBe("unequal-lengths");
  });

  test("a delay without energy, a peak that is none", () => {
    expect(codeOf(() => crossSpectrumDelay(four, four, []))).toBe("no-energy");
    expect(codeOf(() => crossSpectrumDelay(new Float64Array(8), new Float64Array(8), [1]))).toBe("no-energy");
    expect(codeOf(() => parabolicPeak(1, 2, 3))).toBe("no-peak");
    expect(codeOf(() => parabolicPeak(2, 2, 2))).toBe("no-peak");
  });

  test("lags that are no whole number of samples", () => {
    for (const lag of [-1, 2.5, Number.NaN]) {
      expect(codeOf(() => crossCorrelation(four, four, lag))).toBe("not-a-lag");
    }
  });

  test("NaN", () => {
    const bad = Float64Array.of(1, Number.NaN, 3, 4);
    expect(() => crossCorrelation(four, bad, 1)).toThrow(NotFiniteError);
    expect(() => fourierTransform(bad)).toThrow(NotFiniteError);
    expect(() => crossSpectrumDelay(bad, four, [1])).toThrow(NotFiniteError);
    expect(() => parabolicPeak(1, Number.NaN, 1)).toThrow(NotFiniteError);
  });
});
