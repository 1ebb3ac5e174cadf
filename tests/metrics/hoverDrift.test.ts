import { describe, expect, test } from "vitest";
import { hoverDrift, hoverRadii, intervalMeans } from "../../src/metrics/hoverDrift.ts";
import { normalColumn } from "../numeric/randomColumns.ts";
import { relativeError, worstDifference } from "../numeric/relativeError.ts";
import { describeWith } from "../support/available.ts";
import { runPython } from "../support/run.ts";
import { normalLimit } from "./samplingLimits.ts";

const options = { meanSeconds: 0.2, order: 4, bandSplit: 1 };
const instants = (n: number): Float64Array => Float64Array.from({ length: n }, (_, i) => 5 + (i + 0.5) / 100);

test("a ramp: slope, end minus start and bias, by hand", () => {
  // 20 s at 0.1 mm/s about 1 mm: symmetric instants, so the mean is the middle's; first and last second's means are 19 s apart
  const t = instants(2000);
  const error = t.map((time) => 1e-3 + 1e-4 * (time - 15));
  const hover = hoverDrift(t, error, [5, 25], options)!;
  expect(hover.slope).toBeCloseTo(1e-4, 14);
  expect(hover.slope_ci![0]).toBeLessThanOrEqual(hover.slope!);
  expect(hover.slope_ci![1] - hover.slope_ci![0]).toBeLessThan(1e-12);
  expect(hover.end_minus_start).toBeCloseTo(19e-4, 12);
  expect(hover.bias).toBeCloseTo(1e-3, 14);
  // sd (n - 1) of n equally spaced steps d: d root(n (n + 1) / 12)
  expect(relativeError(hover.sd, 1e-6 * Math.sqrt((2000 * 2001) / 12))).toBeLessThan(1e-10);
});

test("low and high band: what turns once in 10 s is low, what turns 5 times a second is high", () => {
  const t = instants(4000);
  const wave = (period: number): Float64Array => t.map((time) => Math.sin((2 * Math.PI * time) / period));
  const low = hoverDrift(t, wave(10), [5, 45], options)!;
  const high = hoverDrift(t, wave(0.2), [5, 45], options)!;
  // a moving mean over 1 s leaves sin(pi / 10) / (pi / 10) = 0.984 of the slow wave (0.707 its sd) and of the fast one
  // none but for a whole number of turns plus one sample: 1 %; the ends have half the span
  expect(low.sd_low).toBeGreaterThan(0.98 * Math.SQRT1_2 * 0.984);
  expect(low.sd_high).toBeLessThan(0.05);
  expect(Math.abs(high.sd_high - Math.SQRT1_2)).toBeLessThan(0.01);
  expect(high.sd_low).toBeLessThan(0.03);
});

test("fewer than ten samples give nothing, and a window too short for an interval gives no slope", () => {
  expect(hoverDrift(instants(9), normalColumn(1, 9), [5, 25], options)).toBeNull();
  const brief = hoverDrift(instants(200), normalColumn(1, 200), [5, 7], options)!;
  expect([brief.slope, brief.slope_se, brief.slope_ci]).toEqual([null, null, null]);
  expect(Number.isFinite(brief.bias + brief.sd)).toBe(true);
});

describe("means over intervals", () => {
  test("are those of the samples in each, stamped with its middle", () => {
    const t = Float64Array.of(0.0, 0.05, 0.1, 0.15, 0.31, 0.36);
    const { t: middles, values } = intervalMeans(t, Float64Array.of(1, 2, 3, 4, 5, 6), [0, 0.4], 0.1);
    // the third interval, 0.2 to 0.3, is empty and stays so
    expect(worstDifference(middles, [0.05, 0.15, 0.35])).toBeLessThan(1e-12);
    expect([...values]).toEqual([1.5, 3.5, 5.5]);
  });

  test("a gap leaves means out: none is made up inside it, and one that is less than half full goes too", () => {
    const t = instants(2000).filter((time) => !(time > 10.03 && time < 13.12));
    const { t: middles, values } = intervalMeans(
      t,
      t.map((time) => time),
      [5, 25],
      0.2,
    );
    // 100 intervals; 10.0-10.2 keeps 3 of 20 samples, 13.0-13.2 keeps 8: both go, with the 14 between them
    expect(middles.length).toBe(84);
    expect([...middles].some((middle) => middle > 10 && middle < 13.2)).toBe(false);
    // the mean of the instants of a full interval is its middle
    expect(worstDifference(middles, values)).toBeLessThan(1e-9);
  });

  test("a gap does not move the slope of a ramp", () => {
    const t = instants(2000).filter((time) => !(time > 10.03 && time < 13.12));
    const error = t.map((time) => 1e-4 * time);
    expect(hoverDrift(t, error, [5, 25], options)!.slope).toBeCloseTo(1e-4, 12);
  });
});

describe("horizontal radii", () => {
  test("of an isotropic normal scatter R50 is 1.1774 sigma and R95 2.4477 sigma (Rayleigh: root of 2 ln 2, of 2 ln 20)", () => {
    const n = 20_000;
    const sigma = 2e-3;
    const { about_mean } = hoverRadii(normalColumn(1, n, 0.01, sigma), normalColumn(2, n, -0.02, sigma))!;
    // sampling sd of a quantile q: root(p (1 - p) / n) / f(q), f the Rayleigh density q exp(-q^2 / 2)
    for (const [found, q, p] of [
      [about_mean.r50, 1.1774, 0.5],
      [about_mean.r95, 2.4477, 0.95],
    ] as const) {
      const limit = (normalLimit(2) * Math.sqrt((p * (1 - p)) / n)) / (q * Math.exp((-q * q) / 2));
      expect(Math.abs(found / sigma - q)).toBeLessThan(limit + 5e-5);
    }
  });

  test("about the setpoint they hold the standing error too", () => {
    const x = Float64Array.from({ length: 100 }, () => 3);
    const y = Float64Array.from({ length: 100 }, () => 4);
    expect(hoverRadii(x, y)).toEqual({ about_mean: { r50: 0, r95: 0 }, about_setpoint: { r50: 5, r95: 5 } });
    expect(hoverRadii(x.subarray(0, 9), y.subarray(0, 9))).toBeNull();
  });
});

describeWith(["scipy"], "hover drift against numpy", () => {
  test("slope is numpy.polyfit's on the same means, and the radii are numpy's quantiles", () => {
    const cases = [1, 2, 3].map((seed) => {
      const t = instants(3000).filter((_, i) => i < 700 * seed || i > 700 * seed + 120);
      const x = normalColumn(seed, t.length, 1e-3, 2e-3).map((value, i) => value + 1e-4 * t[i]!);
      return { t: [...t], x: [...x], y: [...normalColumn(seed + 50, t.length, -2e-3, 1e-3)] };
    });
    const expected = runPython<{ slope: number; sd: number; radii: number[] }[]>(
      `
import json, sys, numpy as np
out = []
for c in json.load(sys.stdin):
    t, x, y = (np.array(c[k]) for k in "txy")
    bins = np.floor((t - 5) / 0.2).astype(int)
    keep = [b for b in range(150) if (bins == b).sum() >= 10]
    means = np.array([x[bins == b].mean() for b in keep])
    middles = 5 + 0.2 * (np.array(keep) + 0.5)
    about = np.hypot(x - x.mean(), y - y.mean())
    origin = np.hypot(x, y)
    out.append({"slope": np.polyfit(middles - 20, means, 1)[0], "sd": x.std(ddof=1),
                "radii": [np.quantile(about, .5), np.quantile(about, .95), np.quantile(origin, .5), np.quantile(origin, .95)]})
print(json.dumps(out))
`,
      cases,
    );
    cases.forEach((columns, i) => {
      const [t, x, y] = [columns.t, columns.x, columns.y].map((values) => Float64Array.from(values));
      const hover = hoverDrift(t!, x!, [5, 35], options)!;
      // sums of thousands of doubles; the slope of means of size 1e-3 over 30 s
      expect(relativeError(hover.slope!, expected[i]!.slope)).toBeLessThan(1e-9);
      expect(relativeError(hover.sd, expected[i]!.sd)).toBeLessThan(1e-12);
      const { about_mean, about_setpoint } = hoverRadii(x!, y!)!;
      const radii = [about_mean.r50, about_mean.r95, about_setpoint.r50, about_setpoint.r95];
      expect(worstDifference(radii, expected[i]!.radii)).toBeLessThan(1e-14);
    });
  });
});
