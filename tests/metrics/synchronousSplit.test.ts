import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { type SplitOptions, type SynchronousSplit, synchronousSplit } from "../../src/metrics/synchronousSplit.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { normalColumn } from "../numeric/randomColumns.ts";
import { relativeError, worstDifference } from "../numeric/relativeError.ts";
import { describeWith } from "../support/available.ts";
import { runPython } from "../support/run.ts";
import { deviationLimits, meanAndSd, meanLimit } from "./samplingLimits.ts";

const period = 1.5;
const cycles = 12;
const window = [3, 3 + cycles * period] as const;
const options: SplitOptions = { harmonics: 5, neighbours: 8, settle: 2.5, clock: null };
const instants = (rate = 100): Float64Array =>
  Float64Array.from({ length: Math.round(cycles * period * rate) }, (_, i) => window[0] + (i + 0.37) / rate);
const theta = (t: number): number => (2 * Math.PI * (t - window[0])) / period;
const splitOf = (t: Float64Array, error: Float64Array, more: Partial<SplitOptions> = {}): SynchronousSplit =>
  synchronousSplit(t, [error], window, cycles, { ...options, ...more })![0]!;

describe("the split", () => {
  test("bias^2 + synchronous^2 + remaining^2 is the mean square, whatever the gaps", () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 1e6 }),
        fc.array(fc.tuple(fc.double({ min: 0, max: 17, noNaN: true }), fc.double({ min: 0, max: 2, noNaN: true })), {
          maxLength: 4,
        }),
        (seed, gaps) => {
          const t = instants().filter(
            (time) => !gaps.some(([from, length]) => time > 3 + from && time < 3 + from + length),
          );
          const noise = normalColumn(seed, t.length, 0.3, 0.5);
          const error = noise.map((value, i) => value + Math.cos(theta(t[i]!)) + 0.02 * t[i]!);
          const split = splitOf(t, error);
          const n = t.length;
          const bias = error.reduce((sum, value) => sum + value, 0) / n;
          const meanSquare = error.reduce((sum, value) => sum + value * value, 0) / n;
          expect(relativeError(bias ** 2 + split.rms ** 2 + split.remaining_rms ** 2, meanSquare)).toBeLessThan(1e-12);
        },
      ),
      { seed: 20261125, numRuns: 60 },
    );
  });

  test("an error made of harmonics alone is found again, phase and all, and nothing remains", () => {
    const t = instants().filter((time) => !(time > 7 && time < 8));
    const error = t.map((time) => 2 + 3 * Math.cos(theta(time) + 0.7) + 0.25 * Math.cos(4 * theta(time) - 2));
    const { harmonics, remaining_rms } = splitOf(t, error);
    expect(
      worstDifference(
        harmonics.map((h) => h.amplitude),
        [3, 0, 0, 0.25, 0],
      ),
    ).toBeLessThan(1e-12);
    expect(harmonics[0]!.phase).toBeCloseTo(0.7, 12);
    expect(harmonics[3]!.phase).toBeCloseTo(-2, 11);
    expect(remaining_rms).toBeLessThan(1e-12);
  });

  test("fewer than two cycles, too few samples, or gaps that leave the harmonics alike give nothing", () => {
    const t = instants();
    const error = normalColumn(1, t.length);
    expect(synchronousSplit(t, [error], window, 1, options)).toBeNull();
    expect(synchronousSplit(t.subarray(0, 47), [error.subarray(0, 47)], window, cycles, options)).toBeNull();
    // samples at three phases of the cycle only: ten coefficients cannot be distinguished
    const three = Float64Array.from({ length: 36 }, (_, i) => window[0] + ((i + 0.25) * period) / 3);
    const few = Float64Array.from({ length: 72 }, (_, i) => three[i >> 1]! + 1e-13 * (i % 2));
    expect(synchronousSplit(few, [normalColumn(2, 72)], window, cycles, options)).toBeNull();
  });
});

describeWith(["scipy"], "the split against numpy", () => {
  test("cosines, sines and what remains equal numpy.linalg.lstsq's, with and without gaps", () => {
    const cases = [0, 1, 2, 3].map((gap) => {
      const t = instants(60 + 25 * gap).filter((time) => gap === 0 || !(time > 5 + gap && time < 5 + 1.7 * gap));
      return { t: [...t], y: [...normalColumn(gap, t.length, 1, 2)] };
    });
    const expected = runPython<{ cos: number[]; sin: number[]; remaining: number }[]>(
      `
import json, sys, numpy as np
out = []
for c in json.load(sys.stdin):
    theta = 2 * np.pi * (np.array(c["t"]) - 3) / 1.5
    a = np.column_stack([np.ones_like(theta)] + [f(k * theta) for k in range(1, 6) for f in (np.cos, np.sin)])
    y = np.array(c["y"])
    b = np.linalg.lstsq(a, y, rcond=None)[0]
    out.append({"cos": list(b[1::2]), "sin": list(b[2::2]), "remaining": np.sqrt(((y - a @ b)**2).mean())})
print(json.dumps(out))
`,
      cases,
    );
    cases.forEach(({ t, y }, i) => {
      const split = splitOf(Float64Array.from(t), Float64Array.from(y));
      // well-conditioned (whole cycles): a few hundred roundings of values near 1
      expect(
        worstDifference(
          split.harmonics.map((h) => h.cos),
          expected[i]!.cos,
        ),
      ).toBeLessThan(1e-12);
      expect(
        worstDifference(
          split.harmonics.map((h) => h.sin),
          expected[i]!.sin,
        ),
      ).toBeLessThan(1e-12);
      expect(relativeError(split.remaining_rms, expected[i]!.remaining)).toBeLessThan(1e-12);
    });
  });
});

describe("the covariance", () => {
  test("of white noise is 2 sigma^2 / n, cosine and sine alike and apart", () => {
    const t = instants();
    const seeds = 200;
    const sum = [1, 2, 3, 4, 5].map(() => [0, 0, 0]);
    for (let seed = 0; seed < seeds; seed++) {
      splitOf(t, normalColumn(1000 + seed, t.length)).harmonics.forEach(({ cov }, h) => {
        for (let c = 0; c < 3; c++) sum[h]![c]! += cov[c]! / seeds;
      });
    }
    (sum as [number, number, number][]).forEach(([cos, cross, sin]) => {
      // each estimate averages up to 8 pairs of exponential deviates: its relative sd is about sqrt(1 / 8) = 0.35; of 200
      // 2.5 %, four sd 10 %. No line is taken out between ends that differ by no more than noise does
      expect(Math.abs(cos / (2 / t.length) - 1)).toBeLessThan(0.1);
      // the leak of what is slower adds to the sine: at the first harmonic less than 2 bins' worth of 2 / (12 pi)^2 each
      expect(Math.abs(sin / (2 / t.length) - 1)).toBeLessThan(0.12);
      expect(Math.abs(cross)).toBeLessThan(0.01 * (2 / t.length));
    });
  });

  /** z of every cosine and sine over seeded noise about a known synchronous error. */
  function deviates(seeds: number, noise: (seed: number, n: number) => Float64Array): number[][][] {
    const t = instants();
    const z = [0, 1, 2, 3, 4].map(() => [[], []] as [number[], number[]]);
    for (let seed = 0; seed < seeds; seed++) {
      const error = noise(seed, t.length).map((value, i) => value + 2 * Math.cos(theta(t[i]!) - 1));
      splitOf(t, error).harmonics.forEach((harmonic, h) => {
        const truth = h === 0 ? [2 * Math.cos(1), 2 * Math.sin(1)] : [0, 0];
        z[h]![0].push((harmonic.cos - truth[0]!) / Math.sqrt(harmonic.cov[0]));
        z[h]![1].push((harmonic.sin - truth[1]!) / Math.sqrt(harmonic.cov[2]));
      });
    }
    return z;
  }

  /** A Gauss-Markov process of the given correlation time, sampled exactly, plus white noise. */
  function wander(seed: number, n: number, time: number, white: number): Float64Array {
    const random = seededRandom(seed);
    const keep = Math.exp(-0.01 / time);
    let state = random.normal();
    return Float64Array.from({ length: n }, () => {
      const value = state + white * random.normal();
      state = keep * state + Math.sqrt(1 - keep * keep) * random.normal();
      return value;
    });
  }

  test.each([
    ["white noise", 0, 1],
    ["a wander of 0.1 s", 0.1, 0],
    ["a wander of 0.5 s", 0.5, 0],
    ["a wander of 2 s with white noise", 2, 0.1],
  ])("in %s: (found - true) / se has mean 0 and sd 1, by coefficient and harmonic", (_, time, white) => {
    const seeds = 300;
    const z = deviates(seeds, (seed, n) =>
      time === 0 ? normalColumn(7000 + seed, n, 0, white) : wander(9000 + seed, n, time, white),
    );
    // asked for: sd 0.85 to 1.15 and mean within 0.25; 300 seeds and ten coefficients see that with the sampling error
    // of a chi-square with 299 degrees of freedom (0.998 level over the ten)
    const [low, high] = deviationLimits(seeds, 10);
    for (const harmonic of z) {
      for (const values of harmonic) {
        const { mean, sd } = meanAndSd(values);
        expect(sd).toBeGreaterThan(0.85 * low);
        expect(sd).toBeLessThan(1.15 * high);
        expect(Math.abs(mean)).toBeLessThan(0.25 + meanLimit(seeds, 1, 10));
      }
    }
    // all of them together: 3000 values, sampling error of the sd 1.3 %
    const all = meanAndSd(z.flat(2));
    expect(all.sd).toBeGreaterThan(0.85);
    expect(all.sd).toBeLessThan(1.15);
    expect(Math.abs(all.mean)).toBeLessThan(meanLimit(3000, 1));
  });

  test("a wander of 5 s ends elsewhere than it began: what that step leaks into the sines is allowed for", () => {
    const seeds = 300;
    const z = deviates(seeds, (seed, n) => wander(9000 + seed, n, 5, 0));
    // above the first harmonic, where the leak is the larger part; the same step leaks into all of them, so their squares
    // are pooled as 300 values: asked 1.15, and 1.22 is found where the leak is left out
    const squares = z.slice(1).flatMap(([, sines]) => sines!.map((value) => value * value));
    expect(Math.sqrt(squares.reduce((sum, value) => sum + value, 0) / squares.length)).toBeLessThan(1.15);
  });

  test("a clock that is wrong by dt moves the coefficients as its part of the covariance says", () => {
    // the measured point turns on a circle of 60 mm with a second harmonic; the command is what it should have been
    const at = (time: number): number => 0.06 * Math.cos(theta(time) + 0.4) + 0.004 * Math.sin(2 * theta(time));
    const t = instants();
    const measured = t.map(at);
    const dt = 1e-4;
    const still = splitOf(t, new Float64Array(t.length));
    // stamped dt too late, the point is seen where it was dt before; the command does not move
    const late = splitOf(
      t,
      t.map((time) => at(time - dt) - at(time)),
    );
    const noise = normalColumn(4, t.length, 0, 1e-5);
    const without = splitOf(t, noise);
    const withClock = splitOf(t, noise, { clock: { measured: [measured], variance: dt * dt } });
    for (let h = 0; h < 5; h++) {
      const moved = [
        late.harmonics[h]!.cos - still.harmonics[h]!.cos,
        late.harmonics[h]!.sin - still.harmonics[h]!.sin,
      ] as const;
      const added = [0, 1, 2].map((c) => withClock.harmonics[h]!.cov[c]! - without.harmonics[h]!.cov[c]!);
      const expected = [moved[0] ** 2, moved[0] * moved[1], moved[1] ** 2];
      // first order in k w dt = 8e-4 at the second harmonic, so to 1e-3 of the largest; (25 um)^2 at the first harmonic
      const scale = h < 2 ? moved[0] ** 2 + moved[1] ** 2 : 1e-16;
      expect(worstDifference(added, expected)).toBeLessThan(2e-3 * scale + 1e-20);
    }
    expect(withClock.harmonics[0]!.cov[0] + withClock.harmonics[0]!.cov[2]).toBeGreaterThan((0.9 * 2.5e-5) ** 2);
  });

  test("standard errors of amplitude and phase are those of the vector along and across itself", () => {
    const t = instants();
    const error = normalColumn(11, t.length, 0, 0.1).map((value, i) => value + 2 * Math.cos(theta(t[i]!) + 0.9));
    const { amplitude, amplitude_se, phase_se, cos, sin, cov } = splitOf(t, error).harmonics[0]!;
    // quadratic forms of the covariance with the unit vectors along (cos, sin) and across it
    const form = (a: number, b: number): number => Math.sqrt(a * a * cov[0] + 2 * a * b * cov[1] + b * b * cov[2]);
    expect(relativeError(amplitude_se, form(cos / amplitude, sin / amplitude))).toBeLessThan(1e-12);
    expect(relativeError(phase_se, form(-sin / amplitude, cos / amplitude) / amplitude)).toBeLessThan(1e-12);
  });
});
