import { expect, test } from "vitest";
import { flightNoise, staticNoise } from "../../src/metrics/measurementNoise.ts";
import { normalColumn } from "../numeric/randomColumns.ts";
import { relativeError } from "../numeric/relativeError.ts";
import { describeWith } from "../support/available.ts";
import { runPython } from "../support/run.ts";
import { meanAndSd, meanLimit } from "./samplingLimits.ts";

const instants = (n: number, interval = 0.01): Float64Array => Float64Array.from({ length: n }, (_, i) => i * interval);

test("two captures that stand elsewhere are pooled about their own means, by hand", () => {
  // 0 1 0 1 ... ten times, at 0 and at 100: 5 squares of 1/2 above and below make 2.5 each; pooled 5 / 18
  const flicker = Float64Array.from({ length: 10 }, (_, i) => i % 2);
  const noise = staticNoise([
    { t: instants(10), values: flicker },
    { t: instants(10), values: flicker.map((value) => 100 + value) },
  ])!;
  expect(noise.sd).toBeCloseTo(Math.sqrt(5 / 18), 14);
  // each step is 1: root of 1 / 2
  expect(noise.successive_difference).toBeCloseTo(Math.SQRT1_2, 14);
  expect(noise.samples).toBe(18);
});

test("captures of fewer than ten readings do not count", () => {
  expect(staticNoise([])).toBeNull();
  expect(staticNoise([{ t: instants(9), values: normalColumn(1, 9) }])).toBeNull();
  const long = { t: instants(50), values: normalColumn(2, 50) };
  expect(staticNoise([long, { t: instants(9), values: normalColumn(1, 9, 7) }])).toEqual(staticNoise([long]));
});

test("a creeping stand shows as drift, and hardly in the successive differences", () => {
  const t = instants(3000);
  const values = normalColumn(3, 3000, 0, 1e-4).map((value, i) => value + 2e-5 * t[i]!);
  const noise = staticNoise([{ t, values }])!;
  // slope of 3000 readings over 30 s: standard error 1e-4 / (30 sqrt(3000 / 12)) = 2.1e-7; four of them
  expect(Math.abs(noise.drift! - 2e-5)).toBeLessThan(8.4e-7);
  // 30 s of 20 um/s: root of (100^2 + 600^2 / 12) um = 200 um, while the differences see 100 um within 4 sd of 100 sqrt(3 / (4 n))
  expect(noise.sd).toBeGreaterThan(1.9e-4);
  expect(Math.abs(noise.successive_difference / 1e-4 - 1)).toBeLessThan(4 * Math.sqrt(0.75 / 3000));
});

test("white noise on a smooth motion is recovered within 3 per cent in flight", () => {
  // the sd of one estimate is root of 2.31 / (2 n) (autocorrelations 15, 6, 1 in 20 of third differences): 0.76 %
  const n = 20_000;
  const sigma = 2e-4;
  const t = instants(n);
  const ratios = Array.from({ length: 30 }, (_, seed) => {
    // a circle of 60 mm in 1.5 s with a bounce of 5 mm at 2 Hz: its third difference at 100 Hz is at most 14 um, 2 % of the
    // noise's (root 20 times 200 um), so 0.02 % of its square
    const noise = normalColumn(seed, n, 0, sigma);
    const values = noise.map((value, i) => value + 0.06 * Math.cos(4.19 * t[i]!) + 0.005 * Math.sin(12.6 * t[i]!));
    return flightNoise(t, values, 0.01)!.sd / sigma;
  });
  for (const ratio of ratios) expect(Math.abs(ratio - 1)).toBeLessThan(0.03);
  const { mean, sd } = meanAndSd(ratios);
  expect(Math.abs(mean - 1)).toBeLessThan(meanLimit(ratios.length, sd) + 2e-4);
});

test("third differences: a motion of constant acceleration leaves nothing, one spike of 1 leaves root of 20 / (20 n)", () => {
  const t = instants(100);
  const parabola = t.map((time) => 3 + 2 * time - 4 * time * time);
  expect(flightNoise(t, parabola, 0.01)!.sd).toBeLessThan(1e-14);
  const spiked = Float64Array.from({ length: 100 }, (_, i) => (i === 50 ? 1 : 0));
  // 97 differences; those that hold the spike are 1, -3, 3, -1
  expect(flightNoise(t, spiked, 0.01)!.sd).toBeCloseTo(Math.sqrt(1 / 97), 14);
});

test("nothing is differenced across a gap", () => {
  const t = Float64Array.from({ length: 200 }, (_, i) => i * 0.01 + (i >= 100 ? 3 : 0));
  // 1 m further on after the gap: one difference across it would give 0.1 m
  const values = normalColumn(5, 200, 0, 1e-4).map((value, i) => value + (i >= 100 ? 1 : 0));
  expect(flightNoise(t, values, 0.01)!.sd).toBeLessThan(1.5e-4);
  expect(flightNoise(t.subarray(0, 12), values.subarray(0, 12), 0.01)).toBeNull();
});

describeWith(["scipy"], "static noise against numpy", () => {
  test("pooled sd, pooled successive differences and mean drift of three captures of unequal length", () => {
    const captures = [40, 700, 3000].map((n, i) => ({
      t: [...instants(n, 0.01 + 0.001 * i)],
      values: [...normalColumn(i + 10, n, i, 1e-3 * (i + 1))],
    }));
    const expected = runPython<{ sd: number; successive: number; drift: number }>(
      `
import json, sys, numpy as np
captures = [(np.array(c["t"]), np.array(c["values"])) for c in json.load(sys.stdin)]
n = np.array([len(v) for _, v in captures])
sd = np.sqrt(sum((len(v) - 1) * v.var(ddof=1) for _, v in captures) / (n - 1).sum())
successive = np.sqrt(sum((np.diff(v)**2).sum() / 2 for _, v in captures) / (n - 1).sum())
drift = sum(len(v) * np.polyfit(t - t.mean(), v - v.mean(), 1)[0] for t, v in captures) / n.sum()
print(json.dumps({"sd": sd, "successive": successive, "drift": drift}))
`,
      captures,
    );
    const found = staticNoise(
      captures.map(({ t, values }) => ({ t: Float64Array.from(t), values: Float64Array.from(values) })),
    )!;
    // sums of 3000 doubles
    expect(relativeError(found.sd, expected.sd)).toBeLessThan(1e-12);
    expect(relativeError(found.successive_difference, expected.successive)).toBeLessThan(1e-12);
    expect(relativeError(found.drift!, expected.drift)).toBeLessThan(1e-10);
  });
});
