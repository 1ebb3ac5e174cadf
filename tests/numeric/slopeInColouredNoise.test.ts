import { describe, expect, test } from "vitest";
import { fitLine } from "../../src/numeric/leastSquares.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { slopeInColouredNoise } from "../../src/numeric/slopeInColouredNoise.ts";
import { shareLimit } from "../metrics/samplingLimits.ts";
import { describeWith } from "../support/available.ts";
import { runR, rVector } from "../support/run.ts";
import { normalColumn } from "./randomColumns.ts";
import { relativeError } from "./relativeError.ts";

const step = 0.2;
const instants = (n: number): Float64Array => Float64Array.from({ length: n }, (_, i) => 3 + step * i);

type Noise = (seed: number, n: number) => Float64Array;

/** Means over 0.2 s of a Gauss-Markov process of unit variance and correlation time 1 s, as hover drift takes them; `white` on each mean. */
const wander =
  (white: number): Noise =>
  (seed, n) => {
    const random = seededRandom(seed);
    const keep = Math.exp(-step / 10);
    let state = random.normal();
    return Float64Array.from({ length: n }, () => {
      let sum = 0;
      for (let k = 0; k < 10; k++) {
        sum += state;
        state = keep * state + Math.sqrt(1 - keep * keep) * random.normal();
      }
      return sum / 10 + white * random.normal();
    });
  };

/** A second-order autoregression that swings at 0.25 Hz and dies out in 1 s. */
const swing: Noise = (seed, n) => {
  const random = seededRandom(seed);
  const keep = Math.exp(-step);
  const a1 = 2 * keep * Math.cos(2 * Math.PI * 0.25 * step);
  const a2 = -keep * keep;
  let [one, two] = [0, 0];
  const next = (): number => {
    [one, two] = [a1 * one + a2 * two + random.normal(), one];
    return one;
  };
  // 100 steps are 20 decay times: the start is forgotten
  for (let i = 0; i < 100; i++) next();
  return Float64Array.from({ length: n }, next);
};

describe("white noise", () => {
  test("without a noise model it is ordinary least squares, standard error and all", () => {
    for (let seed = 1; seed <= 20; seed++) {
      const t = instants(12 + 7 * seed);
      const values = normalColumn(seed, t.length, 5, 2);
      const found = slopeInColouredNoise(t, values, step, 0)!;
      const line = fitLine(t, values);
      // the same sums in another order
      expect(relativeError(found.slope, line.slope)).toBeLessThan(1e-12);
      expect(relativeError(found.standardError, line.slopeStandardError)).toBeLessThan(1e-10);
      expect(relativeError(found.degreesOfFreedom, t.length - 2)).toBeLessThan(1e-12);
      expect(found.order).toBe(0);
    }
  });

  test("with the model it is the same slope, and on average hardly wider", () => {
    const ratios = Array.from({ length: 60 }, (_, seed) => {
      const t = instants(200);
      const values = normalColumn(seed + 1, 200);
      const found = slopeInColouredNoise(t, values, step, 4)!;
      const line = fitLine(t, values);
      expect(relativeError(found.slope, line.slope)).toBeLessThan(1e-12);
      return found.standardError / line.slopeStandardError;
    });
    const mean = ratios.reduce((sum, value) => sum + value, 0) / ratios.length;
    // of the orders that fit alike the widest is taken: chance makes it wider, by up to twice the sampling error of the
    // long-run variance, root of 2 order / n = 20 %; never narrower on average
    expect(mean).toBeGreaterThan(0.98);
    expect(mean).toBeLessThan(1.2);
  });
});

describe("what needs no noise", () => {
  test("a line without noise has its own slope and an interval of no width", () => {
    const t = instants(50);
    const found = slopeInColouredNoise(
      t,
      t.map((time) => 1 - 0.03 * time),
      step,
      4,
    )!;
    expect(found.slope).toBeCloseTo(-0.03, 14);
    expect(found.interval[1] - found.interval[0]).toBeLessThan(1e-12);
  });

  test("fewer than 12 readings give nothing", () => {
    expect(slopeInColouredNoise(instants(11), normalColumn(1, 11), step, 4)).toBeNull();
    expect(slopeInColouredNoise(instants(12), normalColumn(1, 12), step, 4)).not.toBeNull();
  });

  test("a line that is added moves the slope by its own, and nothing else; a scale scales", () => {
    const t = instants(120);
    const noise = wander(0.1)(3, 120);
    const plain = slopeInColouredNoise(t, noise, step, 4)!;
    const tilted = slopeInColouredNoise(
      t,
      noise.map((value, i) => 1e-3 * value + 7 + 0.5 * t[i]!),
      step,
      4,
    )!;
    expect(tilted.order).toBe(plain.order);
    // the search for the minimum may part at a tie of the last digits: it stops at 1e-4 of a partial autocorrelation
    expect(relativeError(tilted.slope, 0.5 + 1e-3 * plain.slope)).toBeLessThan(1e-9);
    expect(relativeError(tilted.standardError, 1e-3 * plain.standardError)).toBeLessThan(1e-3);
  });
});

describeWith(["r"], "the restricted likelihood against R, written out with whole matrices", () => {
  // Twice the restricted log likelihood of noise with correlation matrix G about a line X: -(n - 2) log(rss) - log |G|
  // - log |X' G^-1 X|, G in units of the innovation variance (Harville 1977). R maximises it over the autoregression by
  // brute force: dense matrices, optimize() and optim(). The variance of the least-squares slope is then w' G w.
  const likelihood = (values: Float64Array, t: Float64Array, segments: number[], order: 1 | 2): string => `
y <- ${rVector(values)}; t <- ${rVector(t)}; part <- ${rVector(segments)}
n <- length(y); X <- cbind(1, t - mean(t)); lag <- round(abs(outer(t, t, "-")) / ${step})
G <- function(phi, apart) {
  rho <- as.numeric(ARMAacf(ar = phi, lag.max = max(lag)))
  g0 <- 1 / (1 - sum(phi * rho[1 + seq_along(phi)]))
  full <- g0 * matrix(rho[lag + 1], n); if (apart) full * outer(part, part, "==") else full
}
own <- function(phi) {
  L <- chol(G(phi, TRUE)); Xw <- backsolve(L, X, transpose = TRUE); yw <- backsolve(L, y, transpose = TRUE)
  q <- qr(Xw); rss <- sum(qr.resid(q, yw)^2)
  list(l = -((n - 2) * log(rss) + 2 * sum(log(diag(L))) + 2 * sum(log(abs(diag(qr.R(q)))))), s2 = rss / (n - 2))
}
coefficients <- function(p) if (length(p) == 1) p else c(p[1] * (1 - p[2]), p[2])
best <- ${
    order === 1
      ? "optimize(function(p) own(p)$l, c(-0.9995, 0.9995), maximum = TRUE, tol = 1e-10)$maximum"
      : "tanh(optim(atanh(c(0.8, -0.6)), function(p) -own(coefficients(tanh(p)))$l, control = list(reltol = 1e-14, maxit = 5000))$par)"
  }
phi <- coefficients(best); w <- X[, 2] / sum(X[, 2]^2)
cat(format(c(sum(w * y), sqrt(own(phi)$s2 * drop(w %*% G(phi, FALSE) %*% w))), digits = 17), sep = "\\n")
`;

  test.each([
    ["a wander", wander(0), 1, []],
    ["a swing", swing, 2, []],
    ["a wander with two gaps, which part the record", wander(0), 1, [31, 32, 33, 34, 35, 90, 91]],
    ["a swing with a gap", swing, 2, [50, 51, 52, 53]],
  ] as const)("%s: slope and standard error", (_, noise, order, missing) => {
    for (const seed of [1]) {
      const whole = noise(seed, 150);
      const kept = Array.from({ length: 150 }, (_, i) => i).filter((i) => !(missing as readonly number[]).includes(i));
      const t = Float64Array.from(kept, (i) => 3 + step * i);
      const values = Float64Array.from(kept, (i) => whole[i]!);
      let part = 0;
      const segments = kept.map((i, k) => (k > 0 && i !== kept[k - 1]! + 1 ? ++part : part));
      const [slope, standardError] = runR(likelihood(values, t, segments, order)) as [number, number];
      const found = slopeInColouredNoise(t, values, step, order)!;
      expect(found.order).toBe(order);
      expect(relativeError(found.slope, slope)).toBeLessThan(1e-9);
      // the search stops at 2e-3 (1 - |r|) + 1e-4 of a partial autocorrelation r, the standard error goes with
      // 1 / (1 - r): 0.5 % at the r of 0.85 met here
      expect(relativeError(found.standardError, standardError)).toBeLessThan(0.01);
    }
  });
});

const cases: [string, Noise][] = [
  ["a wander", wander(0)],
  ["a wander with white noise", wander(0.3)],
  ["a swing", swing],
];
const lengths = [20, 40, 60] as const;

/** Share of seeded windows whose interval holds the true slope. */
function coverage(noise: Noise, correlationTimes: number, seeds: number, first: number): number {
  const n = Math.round(correlationTimes / step);
  const t = instants(n);
  let held = 0;
  for (let seed = 0; seed < seeds; seed++) {
    const values = noise(first + seed, n).map((value, i) => value + 0.01 * t[i]!);
    const { interval } = slopeInColouredNoise(t, values, step, 4)!;
    if (interval[0] <= 0.01 && 0.01 <= interval[1]) held++;
  }
  return held / seeds;
}

describe("coverage of the 95 per cent interval, 200 windows a case", () => {
  // asked for: 92 to 97 %; 200 windows see that with a sampling error of a binomial share, nine cases looked at together
  const seeds = 200;
  for (const [name, noise] of cases) {
    test.each(lengths)(`in ${name}, %i correlation times long`, (length) => {
      const share = coverage(noise, length, seeds, 10_000 * length);
      expect(share).toBeGreaterThan(0.92 - shareLimit(seeds, 0.92, 9));
      expect(share).toBeLessThanOrEqual(0.97 + shareLimit(seeds, 0.97, 9));
    });
  }
});

describeWith(["slow"], "coverage of the 95 per cent interval, 2000 windows a case", () => {
  const seeds = 2000;
  for (const [name, noise] of cases) {
    test.each(lengths)(
      `in ${name}, %i correlation times long, is 92 to 97 per cent`,
      (length) => {
        const share = coverage(noise, length, seeds, 1_000_000 + 10_000 * length);
        process.stderr.write(`coverage in ${name}, ${length} correlation times: ${(100 * share).toFixed(1)} %\n`);
        // one standard error of the share, 0.6 and 0.4 %, at either end
        expect(share).toBeGreaterThan(0.92 - Math.sqrt((0.92 * 0.08) / seeds));
        expect(share).toBeLessThan(0.97 + Math.sqrt((0.97 * 0.03) / seeds));
      },
      300_000,
    );
  }
});

test("a reading that goes to and fro for ever has a slope and an error, at any order", () => {
  for (const order of [1, 4, 5, 8])
    for (const n of [20, 64, 230]) {
      const t = instants(n);
      const values = t.map((_, i) => i % 2);
      const found = slopeInColouredNoise(t, values, step, order)!;
      expect(found.slope).toBeCloseTo(fitLine(t, values).slope, 12);
      expect(found.standardError).toBeGreaterThan(0);
    }
});

test("an offset of twenty million standard deviations moves neither slope nor interval", () => {
  const values = wander(0.3)(77, 100);
  const plain = slopeInColouredNoise(instants(100), values, step, 4)!;
  const far = slopeInColouredNoise(
    instants(100),
    values.map((value) => 2e7 + value),
    step,
    4,
  )!;
  // 2e7 and some tenths are rounded to 4e-9, of a spread of about 1
  expect(Math.abs(far.slope / plain.slope - 1)).toBeLessThan(1e-6);
  expect(Math.abs(far.standardError / plain.standardError - 1)).toBeLessThan(1e-3);
});

test("more means than a call takes arguments are no fault", () => {
  const n = 130_000;
  const found = slopeInColouredNoise(instants(n), normalColumn(3, n), step, 0)!;
  // white noise of unit variance: sd of the slope by hand, sqrt(12 / n^3) / step
  expect(found.standardError / (Math.sqrt(12 / n ** 3) / step)).toBeCloseTo(1, 1);
});
