import { describe, expect, test } from "vitest";
import { CounterpoiseError, NotFiniteError } from "../../src/foundation/errors.ts";
import { allanDeviation } from "../../src/metrics/allanDeviation.ts";
import { allanFreedom, noiseSlope } from "../../src/metrics/allanFreedom.ts";
import { successiveDifferenceNoise } from "../../src/metrics/measurementNoise.ts";
import { normalColumn } from "../numeric/randomColumns.ts";
import { relativeError, worstRelativeError } from "../numeric/relativeError.ts";
import { sp1065Values } from "../numeric/sp1065Values.ts";
import published from "../published/data/allan.json";
import { describeWith } from "../support/available.ts";
import { runPython } from "../support/run.ts";
import { shareLimit } from "./samplingLimits.ts";

const nine = Float64Array.from(published.nine.values);

/** Half a unit of the last printed digit, seven of them. */
function agreesWithPrint(found: number, printed: string): boolean {
  const size = 10 ** Math.floor(Math.log10(Number(printed)));
  return Math.abs(found - Number(printed)) <= 0.5001e-6 * size;
}

describe("NIST's tables for the overlapping Allan deviation", () => {
  test("nine points, m = 1 and 2 (table 30)", () => {
    const { deviation } = allanDeviation([nine], { interval: 1, factors: published.nine.factors });
    published.nine.overlapping.forEach((printed, k) => {
      expect(agreesWithPrint(deviation[k]!, printed), `${deviation[k]} for ${printed}`).toBe(true);
    });
  });

  test("a thousand points, m = 1, 10 and 100 (table 31)", () => {
    const { deviation, tau } = allanDeviation([sp1065Values()], { interval: 0.5, factors: published.thousand.factors });
    published.thousand.overlapping.forEach((printed, k) => {
      expect(agreesWithPrint(deviation[k]!, printed), `${deviation[k]} for ${printed}`).toBe(true);
    });
    expect(tau).toEqual([0.5, 5, 50]);
  });

  test("degrees of freedom and interval at m = 10 of the thousand points (table 32)", () => {
    const { interval } = published.thousand;
    const found = allanDeviation([sp1065Values()], { interval: 1, factors: [interval.factor] });
    const { degreesOfFreedom, low, high, slope } = found;
    expect(slope).toEqual([0]);
    // six printed digits
    expect(Math.abs(degreesOfFreedom[0]! - interval.degreesOfFreedom)).toBeLessThan(5e-4);
    // the table's program approximates chi-squared to some 1e-3; the exact quantiles are checked below
    expect(relativeError(low[0]!, Number(interval.low95))).toBeLessThan(1e-3);
    expect(relativeError(high[0]!, Number(interval.high95))).toBeLessThan(1e-3);
  });
});

test("at m = 1 it is the successive-difference noise", () => {
  const values = normalColumn(3, 500, 2, 0.01);
  const { deviation } = allanDeviation([values], { interval: 0.01, factors: [1] });
  // running sums of 500 values lose a few digits of sixteen
  expect(relativeError(deviation[0]!, successiveDifferenceNoise(values))).toBeLessThan(1e-12);
});

test("a steady drift of R per second reads R tau / root 2 at every tau, by hand", () => {
  const ramp = Float64Array.from({ length: 2000 }, (_, i) => 0.003 * i * 0.01);
  const { tau, deviation } = allanDeviation([ramp], { interval: 0.01 });
  const expected = tau.map((time) => (0.003 * time) / Math.SQRT2);
  expect(worstRelativeError(deviation, expected)).toBeLessThan(1e-9);
});

test("averaging times are 1, 2, 3, 4, 6, 8, 11 ... at two to the octave, up to a quarter of the readings", () => {
  const { factors } = allanDeviation([normalColumn(5, 100)], { interval: 1 });
  // round(2^(k / 2)): 1, 1.41, 2, 2.83, 4, 5.66, 8, 11.3, 16, 22.6
  expect(factors).toEqual([1, 2, 3, 4, 6, 8, 11, 16, 23]);
});

test("stretches count together: two of them give the pooled mean square, by hand", () => {
  const first = Float64Array.of(0, 1, 0, 1);
  const second = Float64Array.of(5, 7);
  // differences 1, -1, 1 and 2: (3 + 4) / (2 x 4); the jump from 1 to 5 is no difference
  const { deviation } = allanDeviation([first, second], { interval: 1, factors: [1] });
  expect(deviation[0]).toBeCloseTo(Math.sqrt(7 / 8), 14);
});

test("refuses NaN, and averages longer than half the longest stretch", () => {
  expect(() => allanDeviation([Float64Array.of(1, Number.NaN)], { interval: 1 })).toThrow(NotFiniteError);
  expect(() => allanDeviation([nine], { interval: 1, factors: [1, 5] })).toThrow(CounterpoiseError);
  expect(() => allanDeviation([nine], { interval: 1, factors: [5] })).toThrow("averages of 1 to 4 samples");
});

test("a column that never moves has no deviation and an interval without width", () => {
  const still = allanDeviation([new Float64Array(200).fill(0.25)], { interval: 0.01 });
  expect(still.deviation.every((value) => value === 0)).toBe(true);
  expect([...still.low, ...still.high].every((value) => value === 0)).toBe(true);
});

test("the kind of noise is told from neighbouring means: blue, white, a walk, a walk of a walk", () => {
  const white = normalColumn(11, 4000);
  const sum = (values: Float64Array): Float64Array => {
    let total = 0;
    return values.map((value) => {
      total += value;
      return total;
    });
  };
  const difference = white.subarray(1).map((value, i) => value - white[i]!);
  const sums = (values: Float64Array): Float64Array => Float64Array.of(0, ...sum(values));
  // exponents of their spectral densities by construction: summing takes 2 off, differencing adds 2
  const kinds = [difference, white, sum(white), sum(sum(white))].map((values) => noiseSlope(sums(values), 1));
  expect(kinds).toEqual([2, 0, -2, -4]);
  expect(noiseSlope(sums(white.subarray(0, 20)), 1)).toBeNull();
});

describeWith(["scipy"], "intervals against scipy and exact covariances", () => {
  test("the ends are those of scipy's chi-squared quantiles", () => {
    const { deviation, low, high, degreesOfFreedom } = allanDeviation([sp1065Values()], { interval: 1 });
    const expected = runPython<number[][]>(
      `import json, sys
from scipy.stats import chi2
d, e = json.load(sys.stdin)
print(json.dumps([[s * (v / chi2.ppf(p, v)) ** 0.5 for s, v in zip(d, e)] for p in (0.975, 0.025)]))`,
      [deviation, degreesOfFreedom],
    );
    // two quantile routines of twelve digits
    expect(worstRelativeError(low, expected[0]!)).toBeLessThan(1e-10);
    expect(worstRelativeError(high, expected[1]!)).toBeLessThan(1e-10);
  });

  test("degrees of freedom are those of the exact covariance for white, differenced and summed noise", () => {
    // for Gaussian noise the mean square of correlated differences has (trace C)^2 / trace(C^2) degrees of freedom
    const cases = [256, 64].flatMap((n) => [1, 2, 4, 8, 16].map((m) => ({ n, m })));
    const exact = runPython<Record<string, number[]>>(
      `import json, sys, numpy as np
def freedom(n, m, slope):
    w = n + 1 if slope == 2 else n
    D = np.zeros((n - 2 * m + 1, n))
    for j in range(len(D)):
        D[j, j:j + m] = -1 / m
        D[j, j + m:j + 2 * m] = 1 / m
    A = {0: np.eye(n), -2: np.tril(np.ones((n, n))), 2: np.diff(np.eye(w), axis=0) if slope == 2 else None}[slope]
    C = D @ A @ A.T @ D.T
    return np.trace(C) ** 2 / np.sum(C * C)
cases = json.load(sys.stdin)
print(json.dumps({str(s): [freedom(c["n"], c["m"], s) for c in cases] for s in (2, 0, -2)}))`,
      cases,
    );
    for (const slope of [2, 0, -2]) {
      const found = cases.map(({ n, m }) => allanFreedom(slope, n, m));
      // the handbook's formulas are fits; wrong by 10 per cent they widen or narrow an interval by 5
      const tolerance = slope === 0 ? 0.02 : 0.1;
      expect(worstRelativeError(found, exact[String(slope)]!), `slope ${slope}`).toBeLessThan(tolerance);
    }
  });
});

describe("intervals cover", () => {
  const runs = 300;
  const kinds = {
    white: (seed: number) => normalColumn(seed, 1024),
    "a random walk": (seed: number) => {
      let total = 0;
      return normalColumn(seed, 1024).map((value) => {
        total += value;
        return total;
      });
    },
    "a wander smoothed over 20 samples, in white noise": (seed: number) => {
      const push = normalColumn(seed, 1024 + 400);
      const white = normalColumn(seed + 50_000, 1024, 0, 0.05);
      let [first, second] = [0, 0];
      const smooth = push.map((value) => {
        first += (value - first) / 20;
        second += (first - second) / 20;
        return second;
      });
      return white.map((value, i) => value + smooth[i + 400]!);
    },
    "a hover that swings every 200 samples, in white noise": (seed: number) => {
      const push = normalColumn(seed, 1024 + 600);
      const white = normalColumn(seed + 50_000, 1024, 0, 2);
      const turn = (2 * Math.PI) / 200;
      let [before, now] = [0, 0];
      // poles at 0.97 exp(+-i turn): damped at 0.7 of critical, as a position loop is
      const swing = push.map((value) => {
        [before, now] = [now, 2 * 0.97 * Math.cos(turn) * now - 0.97 ** 2 * before + value];
        return now;
      });
      return white.map((value, i) => value + swing[i + 600]!);
    },
  };
  for (const [name, make] of Object.entries(kinds)) {
    test(`${name}: the 95 per cent interval holds the true deviation in more than 85 per cent at every tau, 92 to 99 on the whole`, () => {
      const all = Array.from({ length: runs }, (_, r) => allanDeviation([make(1000 + r)], { interval: 1 }));
      const { factors } = all[0]!;
      const shares = factors.map((_, k) => {
        // no closed form is needed: the mean square over the runs is the true variance, to a part 1 / root(runs) of the interval
        const truth = Math.sqrt(all.reduce((sum, one) => sum + one.deviation[k]! ** 2, 0) / runs);
        return all.filter((one) => one.low[k]! <= truth && truth <= one.high[k]!).length / runs;
      });
      const tests = factors.length * Object.keys(kinds).length;
      factors.forEach((m, k) => {
        expect(shares[k], `m = ${m}`).toBeGreaterThan(0.85 - shareLimit(runs, 0.85, tests));
      });
      const mean = shares.reduce((sum, share) => sum + share, 0) / shares.length;
      expect(mean).toBeGreaterThan(0.92);
      expect(mean).toBeLessThan(0.99);
    });
  }
});
