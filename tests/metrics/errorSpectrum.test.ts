import { describe, expect, test } from "vitest";
import { NotFiniteError } from "../../src/foundation/errors.ts";
import { errorSpectrum, nearestBin, spectrumBins } from "../../src/metrics/errorSpectrum.ts";
import { evenStretches, segmentSamples, welchSpectra } from "../../src/metrics/welchSpectra.ts";
import { normalColumn } from "../numeric/randomColumns.ts";
import { relativeError, worstDifference, worstRelativeError } from "../numeric/relativeError.ts";
import { describeWith } from "../support/available.ts";
import { runPython } from "../support/run.ts";
import { deviationLimits, meanAndSd, normalLimit } from "./samplingLimits.ts";

const seconds = (n: number, rate: number): Float64Array => Float64Array.from({ length: n }, (_, i) => i / rate);
const even = (values: Float64Array, interval: number): Parameters<typeof welchSpectra>[0] => ({
  interval,
  stretches: [[values]],
});

describe("the spectrum of a sine that stands on a bin", () => {
  // construct: fs 1000, 8192 points of 2 cos(2 pi 125 t), Hann 1024, half overlap: density 2 / (1.5 x 0.9765625) high
  const values = seconds(8192, 1000).map((t) => 2 * Math.cos(2 * Math.PI * 125 * t));

  test.each(["none", "mean"] as const)(
    "its peak is A^2 / (2 bandwidth), and the area A^2 / 2 (detrend: %s)",
    (detrend) => {
      const { frequency, densities, bandwidth, segments } = welchSpectra(even(values, 1e-3), {
        samples: 1024,
        detrend,
      })!;
      const peak = densities[0]!.indexOf(Math.max(...densities[0]!));
      expect(frequency[peak]).toBe(125);
      expect(relativeError(densities[0]![peak]!, 2 / (1.5 * 0.9765625))).toBeLessThan(1e-9);
      expect(relativeError(bandwidth, 1.5 * 0.9765625)).toBeLessThan(1e-12);
      expect(
        relativeError(
          densities[0]!.reduce((sum, value) => sum + value * 0.9765625, 0),
          2,
        ),
      ).toBeLessThan(1e-9);
      expect(segments).toBe(15);
    },
  );
});

test("white noise of variance s^2 has the density 2 s^2 dt, and its area is the mean square", () => {
  const { densities, frequency } = welchSpectra(even(normalColumn(4, 40_000, 0, 0.3), 0.005), { samples: 256 })!;
  const inner = densities[0]!.slice(3, -1);
  // 311 segments: each bin has some 590 degrees of freedom, 125 nearly independent bins: 0.4 % on the mean
  expect(relativeError(meanAndSd([...inner]).mean, 2 * 0.09 * 0.005)).toBeLessThan(0.03);
  const area = densities[0]!.reduce((sum, value) => sum + value * frequency[1]!, 0);
  // the segments' own means are taken off: 1 in 256 of the variance, and 0.7 % of sampling
  expect(relativeError(area, 0.09)).toBeLessThan(0.03);
});

test("degrees of freedom are those that densities of white noise show", () => {
  const densities: number[] = [];
  let claimed = 0;
  for (let seed = 1; seed <= 200; seed++) {
    const found = welchSpectra(even(normalColumn(seed, 512), 1), { samples: 64 })!;
    claimed = found.degreesOfFreedom;
    // bins four apart: under a Hann window they have nothing in common
    for (let k = 4; k <= 28; k += 4) densities.push(found.densities[0]![k]!);
  }
  // 15 segments: 2 x 15^2 / (15 + 28 / 36)
  expect(claimed).toBeCloseTo(450 / (15 + 28 / 36), 12);
  const { mean, sd } = meanAndSd(densities);
  // a chi-squared variable has variance 2 df^2 / df; the sd of 1400 of them is uncertain by some 3 % (kurtosis included)
  const [low, high] = deviationLimits(densities.length / 2);
  const ratio = sd / mean / Math.sqrt(2 / claimed);
  expect(ratio).toBeGreaterThan(low);
  expect(ratio).toBeLessThan(high);
});

test("the factors are an interval that holds the true density in 95 per cent", () => {
  let held = 0;
  let bins = 0;
  for (let seed = 1; seed <= 150; seed++) {
    const options = { interval: 0.01, gapIntervals: 2.5, segment: 0.64, leastSegments: 4 };
    const { densities, factors } = errorSpectrum(seconds(400, 100), [normalColumn(seed + 900, 400)], options)!;
    for (let k = 4; k <= 28; k += 4) {
      bins++;
      if (densities[0]![k]! * factors[0] <= 0.02 && densities[0]![k]! * factors[1] >= 0.02) held++;
    }
  }
  expect(Math.abs(held / bins - 0.95)).toBeLessThan(normalLimit() * Math.sqrt((0.95 * 0.05) / bins) + 0.005);
});

describe("gaps", () => {
  const rate = 100;
  const options = { interval: 0.01, gapIntervals: 2.5 };

  test("a stretch without a missing sample is handed on as it is, jitter of the stamps or not", () => {
    const values = normalColumn(1, 300);
    const t = seconds(300, rate).map((time, i) => time + 0.002 * Math.sin(i));
    const { stretches, interval } = evenStretches(t, [values], options);
    expect(stretches).toHaveLength(1);
    expect(stretches[0]![0]).toEqual(values);
    expect(relativeError(interval, 0.01)).toBeLessThan(1e-3);
  });

  test("a gap parts, a single missing sample is bridged along a straight line", () => {
    const keep = (i: number): boolean => i !== 50 && !(i >= 120 && i < 140);
    const all = seconds(300, rate);
    const t = all.filter((_, i) => keep(i));
    // a straight line in time: bridging it puts the missing value back exactly
    const { stretches } = evenStretches(t, [t.map((time) => 3 + 2 * time)], options);
    expect(stretches.map((stretch) => stretch[0]!.length)).toEqual([120, 160]);
    expect(
      worstDifference(
        stretches[0]![0]!,
        all.subarray(0, 120).map((time) => 3 + 2 * time),
      ),
    ).toBeLessThan(1e-12);
  });

  test("no segment crosses a gap: a jump there leaves no trace in the spectrum", () => {
    const t = seconds(2000, rate).filter((time) => time < 8 || time >= 9);
    const wave = (time: number): number => 1e-3 * Math.cos(2 * Math.PI * 12.5 * time);
    const smooth = errorSpectrum(t, [t.map(wave)], { ...options, segment: 1.28, leastSegments: 4 })!;
    const jumped = errorSpectrum(t, [t.map((time) => wave(time) + (time > 8.5 ? 1 : 0))], {
      ...options,
      segment: 1.28,
      leastSegments: 4,
    })!;
    // 800 and 1100 samples in segments of 128: 11 and 16; the mean of each is taken off, rounding of 1 m remains
    expect(smooth.segments).toBe(11 + 16);
    expect(worstDifference(jumped.densities[0]!, smooth.densities[0]!)).toBeLessThan(1e-15);
  });

  test("where too few segments fit they are halved, and where none of 16 samples fits there is no spectrum", () => {
    const values = normalColumn(9, 200);
    expect(segmentSamples(even(values, 0.01), 2.56, 1)).toBe(128);
    expect(segmentSamples(even(values, 0.01), 2.56, 4)).toBe(64);
    const nothing = errorSpectrum(seconds(15, rate), [normalColumn(2, 15)], {
      ...options,
      segment: 1,
      leastSegments: 4,
    });
    expect(nothing).toBeNull();
    expect(
      errorSpectrum(new Float64Array(0), [new Float64Array(0)], { ...options, segment: 1, leastSegments: 4 }),
    ).toBeNull();
  });

  test("NaN is refused", () => {
    const values = normalColumn(9, 200);
    values[77] = Number.NaN;
    expect(() => errorSpectrum(seconds(200, rate), [values], { ...options, segment: 0.5, leastSegments: 4 })).toThrow(
      NotFiniteError,
    );
  });
});

describe("thinning", () => {
  test("no peak is lost: the largest of every axis, and what was asked for, is among at most 200 bins", () => {
    const rough = [1, 2, 3].map((seed) => normalColumn(seed, 4097).map((value, k) => (value * value) / (1 + k)));
    const spikes = [3, 700, 2222, 4000];
    spikes.forEach((bin, i) => {
      rough[i % 3]![bin] = 1e3;
    });
    const bins = spectrumBins(rough, 200, [17, 34]);
    expect(bins.length).toBeLessThanOrEqual(200);
    for (const bin of [...spikes, 17, 34]) expect(bins).toContain(bin);
    expect(bins).toEqual([...new Set(bins)].sort((a, b) => a - b));
    expect(bins[0]).toBeGreaterThan(0);
    // evenly over the logarithm: every octave of the upper part has several
    for (const octave of [64, 128, 256, 512, 1024, 2048])
      expect(bins.filter((bin) => bin >= octave && bin < 2 * octave).length).toBeGreaterThan(5);
  });

  test("a short spectrum is kept whole but for bin 0", () => {
    expect(spectrumBins([Float64Array.of(9, 1, 2, 3)], 200, [])).toEqual([1, 2, 3]);
    expect(spectrumBins([], 200, [])).toEqual([]);
  });

  test("the nearest bin, and none above the last", () => {
    const frequency = Float64Array.of(0, 0.5, 1, 1.5);
    expect(nearestBin(frequency, 1.1)).toBe(2);
    expect(nearestBin(frequency, 1.8)).toBeNull();
  });
});

describeWith(["scipy"], "against scipy", () => {
  test("signal.welch gives the same densities, several series and lengths", () => {
    const values = [3000, 1024, 700].map((n, k) => normalColumn(20 + k, n, 0.5, 0.01));
    const expected = runPython<number[][][]>(
      `import json, sys
from scipy.signal import welch
print(json.dumps([[v.tolist() for v in welch(x, fs=200, window="hann", nperseg=256, noverlap=128)] for x in json.load(sys.stdin)]))`,
      values.map((column) => [...column]),
    );
    values.forEach((column, k) => {
      const { frequency, densities } = welchSpectra(even(column, 0.005), { samples: 256 })!;
      expect(worstDifference(frequency, expected[k]![0]!)).toBeLessThan(1e-12);
      // bin 0 is what rounding leaves of the mean: not compared by ratio
      expect(worstRelativeError(densities[0]!.slice(1), expected[k]![1]!.slice(1))).toBeLessThan(1e-9);
    });
  });

  test("signal.csd gives the same cross-spectrum, its sign included", () => {
    const [x, y] = [normalColumn(31, 2000), normalColumn(32, 2000)];
    const mixed = y!.map((value, i) => value + 0.5 * x![Math.max(0, i - 3)]!);
    const expected = runPython<{ re: number[]; im: number[] }>(
      `import json, sys
from scipy.signal import csd
x, y = json.load(sys.stdin)
p = csd(x, y, fs=100, window="hann", nperseg=128, noverlap=64)[1]
print(json.dumps({"re": p.real.tolist(), "im": p.imag.tolist()}))`,
      [[...x!], [...mixed]],
    );
    const { cross } = welchSpectra({ interval: 0.01, stretches: [[x!, mixed]] }, { samples: 128, pairs: [[0, 1]] })!;
    // densities of some 0.02
    expect(worstDifference(cross[0]!.real, expected.re)).toBeLessThan(1e-13);
    expect(worstDifference(cross[0]!.imaginary, expected.im)).toBeLessThan(1e-13);
  });
});
