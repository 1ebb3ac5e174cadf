import fc from "fast-check";
import { expect, test } from "vitest";
import { trackingError, trackingErrorNorm, vectorLengths } from "../../src/metrics/trackingError.ts";
import { normalColumn } from "../numeric/randomColumns.ts";
import { relativeError } from "../numeric/relativeError.ts";
import { describeWith } from "../support/available.ts";
import { runPython } from "../support/run.ts";

type Figures = NonNullable<ReturnType<typeof trackingError>>;
const keys = ["bias", "sd", "rms", "mean_abs", "p95", "max_abs", "range"] as const;

test("five errors of whole millimetres, by hand", () => {
  // errors -1, 2, -2, 4, 2 mm: sum 5, squares 29; about the mean 1: 4 + 1 + 9 + 9 + 1 = 24; sizes 1 2 2 2 4, so the
  // type 7 quantile at 0.95 lies 0.8 of the way from the fourth (2) to the fifth (4)
  const figures = trackingError(Float64Array.of(-1, 2, -2, 4, 2))!;
  expect(figures.bias).toBe(1);
  expect(figures.sd).toBe(Math.sqrt(6));
  expect(figures.rms).toBe(Math.sqrt(29 / 5));
  expect(figures.mean_abs).toBe(11 / 5);
  expect(figures.p95).toBeCloseTo(3.6, 14);
  expect(figures.max_abs).toBe(4);
  expect(figures.range).toBe(6);
});

test("maximum and range come from the common length, everything else from the whole", () => {
  const whole = Float64Array.of(1, -2, 3, -9);
  const first = trackingError(whole, whole.subarray(0, 3))!;
  expect([first.max_abs, first.range]).toEqual([3, 5]);
  const all = trackingError(whole)!;
  expect([all.max_abs, all.range]).toEqual([9, 12]);
  expect({ ...first, max_abs: 0, range: 0 }).toEqual({ ...all, max_abs: 0, range: 0 });
});

test("fewer than two samples give nothing, and the caller's columns stay as they were", () => {
  expect(trackingError(Float64Array.of(1))).toBeNull();
  expect(trackingError(new Float64Array(0))).toBeNull();
  expect(trackingError(Float64Array.of(1, 2), new Float64Array(0))).toBeNull();
  const own = Float64Array.of(3, -1, 2);
  trackingError(own);
  expect([...own]).toEqual([3, -1, 2]);
});

test("the norm of a 3-4-12 error, by hand", () => {
  // vectors (3, 4, 12) and (-3, -4, -12): mean vector zero, both 13 long; sd by axis sqrt(2) times 3, 4 and 12
  const columns = [
    [3, -3],
    [4, -4],
    [12, -12],
  ].map((column) => Float64Array.from(column)) as [Float64Array, Float64Array, Float64Array];
  const norm = trackingErrorNorm(
    columns.map((column) => trackingError(column)!),
    vectorLengths(...columns),
  )!;
  expect(norm.bias).toBe(0);
  expect(norm.sd).toBeCloseTo(13 * Math.SQRT2, 13);
  expect(norm.rms).toBeCloseTo(13, 14);
  expect([norm.mean_abs, norm.p95, norm.max_abs, norm.range]).toEqual([13, 13, 13, null]);
});

test("rms squared is bias squared plus the mean square about it, and turning the axes leaves the norm", () => {
  fc.assert(
    fc.property(fc.integer({ min: 1, max: 1e6 }), fc.integer({ min: 2, max: 300 }), (seed, n) => {
      const [x, y, z] = [0, 1, 2].map((axis) => normalColumn(3 * seed + axis, n, axis, 1 + axis)) as [
        Float64Array,
        Float64Array,
        Float64Array,
      ];
      const of = (a: Float64Array, b: Float64Array, c: Float64Array) =>
        trackingErrorNorm(
          [a, b, c].map((column) => trackingError(column)!),
          vectorLengths(a, b, c),
        )!;
      const plain = of(x, y, z);
      const part = (plain.sd ** 2 * (n - 1)) / n;
      // a sum of n squares: n roundings of 1e-16, at most
      expect(relativeError(plain.bias ** 2 + part, plain.rms ** 2)).toBeLessThan(1e-12);
      const [c, s] = [Math.cos(seed), Math.sin(seed)];
      const turned = of(
        x.map((value, i) => c * value - s * y[i]!),
        x.map((value, i) => s * value + c * y[i]!),
        z,
      );
      for (const key of ["bias", "sd", "rms", "mean_abs", "p95", "max_abs"] as const)
        expect(relativeError(turned[key], plain[key])).toBeLessThan(1e-12);
    }),
    { seed: 20261125, numRuns: 100 },
  );
});

describeWith(["scipy"], "tracking error against numpy", () => {
  test("axes and norm equal numpy's mean, std(ddof=1), quantile (its default, type 7) and ptp", () => {
    const sizes = [2, 3, 20, 21, 999, 4000];
    const cases = sizes.map((n, i) => [0, 1, 2].map((axis) => [...normalColumn(100 * i + axis, n, 0.3 * axis - 0.2)]));
    const expected = runPython<{ axes: number[][]; norm: number[] }[]>(
      `
import json, sys, numpy as np
out = []
for case in json.load(sys.stdin):
    e = np.array(case)
    own = lambda v: [v.mean(), v.std(ddof=1), np.sqrt((v**2).mean()), np.abs(v).mean(), np.quantile(np.abs(v), .95), np.abs(v).max(), np.ptp(v)]
    r = np.linalg.norm(e, axis=0)
    norm = [np.linalg.norm(e.mean(axis=1)), np.sqrt(e.var(axis=1, ddof=1).sum()), np.sqrt((r**2).mean()), r.mean(), np.quantile(r, .95), r.max()]
    out.append({"axes": [own(v) for v in e], "norm": norm})
print(json.dumps(out))
`,
      cases,
    );
    cases.forEach((columns, i) => {
      const found = columns.map((column) => trackingError(Float64Array.from(column))!);
      found.forEach((figures, axis) => {
        keys.forEach((key, k) => {
          // both sum n doubles; the worst of 4000 terms of size 1 leaves 1e-13 of a mean that may be 1e-2
          expect(Math.abs(figures[key]! - expected[i]!.axes[axis]![k]!), `${key} of ${sizes[i]}`).toBeLessThan(1e-12);
        });
      });
      const [x, y, z] = columns.map((column) => Float64Array.from(column)) as [
        Float64Array,
        Float64Array,
        Float64Array,
      ];
      const norm: Figures = trackingErrorNorm(found, vectorLengths(x, y, z))!;
      keys.slice(0, 6).forEach((key, k) => {
        expect(Math.abs(norm[key]! - expected[i]!.norm[k]!), `norm ${key} of ${sizes[i]}`).toBeLessThan(1e-12);
      });
    });
  });
});
