import { expect, test } from "vitest";
import { CounterpoiseError } from "../../src/foundation/errors.ts";
import { motionCoherence } from "../../src/metrics/motionCoherence.ts";
import { normalColumn } from "../numeric/randomColumns.ts";
import { worstDifference } from "../numeric/relativeError.ts";
import { describeWith } from "../support/available.ts";
import { runPython } from "../support/run.ts";
import { normalLimit } from "./samplingLimits.ts";

const seconds = (n: number): Float64Array => Float64Array.from({ length: n }, (_, i) => i / 100);
const options = { interval: 0.01, gapIntervals: 2.5, segment: 1.28, leastSegments: 4 };

describeWith(["scipy"], "against scipy", () => {
  test("signal.coherence gives the same", () => {
    const motion = normalColumn(41, 3000);
    const errors = [0.1, 1, 10].map((noise, k) => normalColumn(42 + k, 3000, 0, noise).map((v, i) => v + motion[i]!));
    const expected = runPython<number[][]>(
      `import json, sys
from scipy.signal import coherence
x, *ys = json.load(sys.stdin)
print(json.dumps([coherence(x, y, fs=100, window="hann", nperseg=128, noverlap=64)[1].tolist() for y in ys]))`,
      [motion, ...errors].map((column) => [...column]),
    );
    const found = motionCoherence(seconds(3000), errors, motion, options)!;
    // a share: bin 0, where nothing but rounding is left of the means, is no coherence
    expected.forEach((column, k) => {
      expect(worstDifference(found.coherence[k]!.slice(1), column.slice(1))).toBeLessThan(1e-10);
    });
  });
});

test("an error that is the motion's linear answer is coherent at every frequency", () => {
  const motion = normalColumn(7, 2000);
  const { coherence } = motionCoherence(seconds(2000), [motion.map((value) => -0.02 * value)], motion, options)!;
  // |Pxy|^2 = Pxx Pyy but for rounding
  expect(worstDifference(coherence[0]!.slice(1), new Float64Array(64).fill(1))).toBeLessThan(1e-12);
});

test("unrelated noise exceeds the significance level in 5 per cent of the bins", () => {
  let above = 0;
  let bins = 0;
  for (let seed = 1; seed <= 300; seed++) {
    const found = motionCoherence(seconds(640), [normalColumn(seed, 640)], normalColumn(seed + 5000, 640), options)!;
    expect(found.segments).toBe(9);
    for (let k = 4; k <= 60; k += 4) {
      bins++;
      if (found.coherence[0]![k]! > found.significance) above++;
    }
  }
  // 4500 nearly independent bins; half the equivalent degrees of freedom for the number of segments is itself good to 1 %
  expect(Math.abs(above / bins - 0.05)).toBeLessThan(normalLimit() * Math.sqrt((0.05 * 0.95) / bins) + 0.01);
});

test("an arm that swings the body at its cycle rate is coherent there and nowhere else", () => {
  const t = seconds(4000);
  // 0.78125 Hz: bin 2 of segments of 256 samples
  const swing = (time: number): number => Math.cos(2 * Math.PI * 0.78125 * time);
  const motion = t.map((time) => 0.06 * swing(time));
  const noisyMotion = normalColumn(51, 4000, 0, 2e-4).map((value, i) => value + motion[i]!);
  const error = normalColumn(52, 4000, 0, 2e-3).map((value, i) => value + 0.002 * swing(t[i]! - 0.2));
  const found = motionCoherence(t, [error], noisyMotion, { ...options, segment: 2.56 })!;
  const { coherence, significance, frequency } = found;
  expect(frequency[2]).toBeCloseTo(0.78125, 12);
  expect(coherence[0]![2]!).toBeGreaterThan(0.9);
  const away = coherence[0]!.slice(8, -1);
  expect(away.filter((value) => value > significance).length / away.length).toBeLessThan(0.12);
});

test("one segment is coherent whatever it holds: refused, and null where no two fit", () => {
  const values = normalColumn(3, 40);
  expect(() => motionCoherence(seconds(40), [values], values, { ...options, leastSegments: 1 })).toThrow(
    CounterpoiseError,
  );
  expect(motionCoherence(seconds(20), [normalColumn(3, 20)], normalColumn(4, 20), options)).toBeNull();
});
