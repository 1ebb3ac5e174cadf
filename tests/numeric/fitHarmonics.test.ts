import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { CounterpoiseError, NotFiniteError, TooFewSamplesError } from "../../src/foundation/errors.ts";
import { plainSumOfSquares } from "../../src/numeric/descriptive.ts";
import { fitHarmonicDesign, type HarmonicFit, harmonicDesign, harmonicShare } from "../../src/numeric/fitHarmonics.ts";
import { harmonicBasis } from "../../src/numeric/harmonicBasis.ts";
import { leastSquares } from "../../src/numeric/leastSquares.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { choleskyFactor, invertCholesky, solveCholesky } from "../../src/numeric/symmetricMatrix.ts";
import published from "../published/data/harmonic.json";
import { describeWith } from "../support/available.ts";
import { runPython } from "../support/run.ts";
import { normalColumn } from "./randomColumns.ts";
import { relativeError, worstDifference, worstRelativeError } from "./relativeError.ts";

const fitHarmonics = (theta: Float64Array, values: Float64Array, harmonics: number): HarmonicFit =>
  fitHarmonicDesign(harmonicDesign(theta, harmonics), values);
const meanSquare = (values: Float64Array): number => plainSumOfSquares(values) / values.length;
const radians = (degrees: readonly number[]): Float64Array =>
  Float64Array.from(degrees, (angle) => (angle * Math.PI) / 180);

test("harmonicBasis gives cosines and sines of the multiples", () => {
  const theta = normalColumn(5, 500, 0, 20);
  harmonicBasis(theta, 6).forEach((column, j) => {
    const k = (j >> 1) + 1;
    const direct = theta.map((angle) => (j % 2 === 0 ? Math.cos(k * angle) : Math.sin(k * angle)));
    // k theta up to 400 rad: its own rounding is half a unit of 400, 3e-14
    expect(worstDifference(column, direct)).toBeLessThan(1e-13);
  });
});

describe("published harmonic analyses", () => {
  test("Bird, table 70.1: mean and three harmonics of twelve ordinates", () => {
    const { bird } = published;
    const fit = fitHarmonics(radians(bird.thetaDegrees), Float64Array.from(bird.y), 3);
    const sums = bird.publishedSums;
    // the book rounds its cosines to three digits: 0.03 on a sum, 0.006 on a coefficient (a sixth of a sum)
    const cosines = [sums.cos1 / 6, sums.cos2 / 6, sums.cos3 / 6];
    const sines = [sums.sin1 / 6, sums.sin2 / 6, sums.sin3 / 6];
    expect(worstDifference(fit.cosines, cosines)).toBeLessThan(0.006);
    expect(worstDifference(fit.sines, sines)).toBeLessThan(0.006);
    expect(relativeError(fit.mean, sums.y / 12)).toBeLessThan(1e-15);
  });

  test("displacement of a machine part against crank angle", () => {
    const { thetaDegrees, y, printed } = published.mechanism;
    const fit = fitHarmonics(radians(thetaDegrees), Float64Array.from(y), 3);
    // printed with two decimals, answer from memory: three quarters of the last
    expect(worstDifference(fit.cosines, [printed.a1, printed.a2, printed.a3])).toBeLessThan(0.0075);
    expect(worstDifference(fit.sines, [printed.b1, printed.b2, printed.b3])).toBeLessThan(0.0075);
    expect(Math.abs(fit.mean - printed.mean)).toBeLessThan(0.0075);
  });

  test("Parseval on whole cycles: harmonics 1 to 6 hold the whole variance", () => {
    const { thetaDegrees, y } = published.mechanism;
    const values = Float64Array.from(y);
    const five = fitHarmonics(radians(thetaDegrees), values, 5);
    // of twelve points the sixth cosine alternates in sign and its sine vanishes, by hand
    const sixth = values.reduce((sum, value, i) => sum + (i % 2 === 0 ? value : -value), 0) / 12;
    const power = five.cosines.reduce((sum, c, k) => sum + (c * c + five.sines[k]! ** 2) / 2, sixth * sixth);
    const variance = meanSquare(values) - five.mean ** 2;
    expect(relativeError(power, variance)).toBeLessThan(1e-12);
    expect(relativeError(five.remainingMeanSquare, sixth * sixth)).toBeLessThan(1e-10);
  });
});

/** Phase over whole cycles with pieces cut out, and a motion with harmonics, an offset and noise. */
function gappy(seed: number, n: number, offset: number): { theta: Float64Array; values: Float64Array } {
  const random = seededRandom(seed);
  const from = random.uniform();
  const width = 0.6 * random.uniform();
  const kept: number[] = [];
  for (let i = 0; i < n; i++) {
    const cycle = (i / n) * 7;
    const inGap = cycle % 1 > from && cycle % 1 < from + width;
    if (!inGap || random.uniform() < 0.02) kept.push(2 * Math.PI * cycle);
  }
  const theta = Float64Array.from(kept);
  const values = theta.map(
    (angle) => offset + 3 * Math.cos(angle + 1) + 0.4 * Math.sin(3 * angle) + 0.5 * random.normal(),
  );
  return { theta, values };
}

test("mean, synchronous part and rest add up to the mean square whatever gaps there are", () => {
  fc.assert(
    fc.property(
      fc.integer({ min: 1, max: 1_000_000 }),
      fc.integer({ min: 400, max: 3000 }),
      fc.constantFrom(0, 0.01, -5, 1000),
      fc.integer({ min: 1, max: 5 }),
      (seed, n, offset, harmonics) => {
        const { theta, values } = gappy(seed, n, offset);
        const fit = fitHarmonics(theta, values, harmonics);
        const sum = fit.mean ** 2 + fit.synchronousMeanSquare + fit.remainingMeanSquare;
        // an identity of the design; what is left is rounding
        expect(relativeError(sum, meanSquare(values))).toBeLessThan(1e-12);
      },
    ),
    { seed: 20, numRuns: 60 },
  );
});

test("a motion made of harmonics is taken apart exactly, the rest is zero", () => {
  const { theta } = gappy(3, 2000, 0);
  const values = theta.map((angle) => 2 + 3 * Math.cos(angle) - 0.5 * Math.sin(2 * angle));
  const fit = fitHarmonics(theta, values, 2);
  expect(worstDifference(fit.cosines, [3, 0])).toBeLessThan(1e-12);
  expect(worstDifference(fit.sines, [0, -0.5])).toBeLessThan(1e-12);
  expect(fit.remainingMeanSquare).toBeLessThan(1e-24);
});

describeWith(["scipy"], "against numpy.linalg.lstsq on seeded random motions", () => {
  test("coefficients, residuals and the unscaled covariance agree", () => {
    for (const [seed, n, harmonics] of [
      [1, 500, 1],
      [2, 900, 5],
      [4, 4000, 3],
    ] as const) {
      const { theta, values } = gappy(seed, n, 1);
      const expected = runPython<{ coefficients: number[]; residuals: number[]; covariance: number[] }>(
        `import json,sys,numpy as np
t,v,K=json.load(sys.stdin); t=np.array(t); v=np.array(v)
X=np.array([f(k*t) for k in range(1,K+1) for f in (np.cos,np.sin)]).T; X=X-X.mean(axis=0)
b=np.linalg.lstsq(X,v-v.mean(),rcond=None)[0]
print(json.dumps({"coefficients":list(b),"residuals":list(v-v.mean()-X@b),"covariance":list(np.linalg.inv(X.T@X).ravel())}))`,
        [[...theta], [...values], harmonics],
      );
      const fit = fitHarmonics(theta, values, harmonics);
      const coefficients = [...fit.cosines].flatMap((cosine, k) => [cosine, fit.sines[k]!]);
      // a gap of up to 0.6 cycles raises the condition of X'X to some 1e5: 16 digits less 5
      expect(worstDifference(coefficients, expected.coefficients)).toBeLessThan(1e-10);
      expect(worstDifference(fit.residuals, expected.residuals)).toBeLessThan(1e-10);
      const scale = Math.max(...expected.covariance);
      expect(worstDifference(fit.covarianceUnscaled, expected.covariance) / scale).toBeLessThan(1e-9);
      const share = harmonicShare(harmonicDesign(theta, harmonics), values);
      const left = meanSquare(Float64Array.from(expected.residuals));
      // a difference of two sums of like size, the smaller of them good to the ten digits of the coefficients
      expect(relativeError(share.remainingMeanSquare, left)).toBeLessThan(1e-9);
      expect(relativeError(share.meanSquare, meanSquare(values.map((value) => value - fit.mean)))).toBeLessThan(1e-12);
    }
  });
});

test("a short arc, where normal equations lose their digits, goes by reflections", () => {
  // two harmonics over 0.1 rad: normal equations give the coefficients to 1e-5 there, reflections to 3e-11
  const theta = Float64Array.from({ length: 400 }, (_, i) => (0.1 * i) / 400);
  const values = theta.map((angle) => 1 + Math.cos(angle) + 0.3 * Math.sin(2 * angle));
  const fit = fitHarmonics(theta, values, 2);
  expect(worstDifference(fit.cosines, [1, 0])).toBeLessThan(1e-9);
  expect(worstDifference(fit.sines, [0, 0.3])).toBeLessThan(1e-9);
  const sum = fit.mean ** 2 + fit.synchronousMeanSquare + fit.remainingMeanSquare;
  expect(relativeError(sum, meanSquare(values))).toBeLessThan(1e-12);
});

test("half a million samples and five harmonics are fitted in one pass", () => {
  const theta = Float64Array.from({ length: 500_000 }, (_, i) => i * 0.013);
  const values = theta.map((angle) => Math.sin(angle) + 0.1 * Math.cos(3 * angle));
  const start = performance.now();
  fitHarmonics(theta, values, 5);
  // measured 0.2 s; an algorithm of another order takes hours
  expect(performance.now() - start).toBeLessThan(20_000);
});

describeWith(["scipy"], "against numpy.linalg.lstsq on arcs", () => {
  test("from two cycles down to a twentieth of one, where other sums and then reflections take over", () => {
    for (const arc of [12, 5, 3, 1.5, 0.8, 0.3]) {
      const theta = Float64Array.from({ length: 700 }, (_, i) => 0.2 + (arc * i) / 700);
      const values = normalColumn(41, 700, 2, 0.1).map((value, i) => value + Math.cos(theta[i]! - 1));
      const expected = runPython<{ coefficients: number[]; left: number; condition: number }>(
        `import json,sys,numpy as np
t,v=json.load(sys.stdin); t=np.array(t); v=np.array(v)
X=np.array([f(k*t) for k in (1,2) for f in (np.cos,np.sin)]).T; X=X-X.mean(axis=0)
b=np.linalg.lstsq(X,v-v.mean(),rcond=None)[0]
print(json.dumps({"coefficients":list(b),"left":((v-v.mean()-X@b)**2).mean(),"condition":np.linalg.cond(X)}))`,
        [[...theta], [...values]],
      );
      const fit = fitHarmonics(theta, values, 2);
      const found = [fit.cosines[0]!, fit.sines[0]!, fit.cosines[1]!, fit.sines[1]!];
      const size = Math.max(...expected.coefficients.map(Math.abs));
      // normal equations lose the square of the condition, of a thousand at most; reflections, which take over, the condition
      const digits = 1e-15 * Math.max(expected.condition, Math.min(expected.condition, 1e3) ** 2);
      expect(worstDifference(found, expected.coefficients) / size).toBeLessThan(100 * digits);
      expect(relativeError(fit.remainingMeanSquare, expected.left)).toBeLessThan(1e-9);
      const share = harmonicShare(harmonicDesign(theta, 2), values);
      expect(relativeError(share.remainingMeanSquare, expected.left)).toBeLessThan(1e-9);
    }
  });
});

describe("what fitHarmonics refuses", () => {
  test("too few samples, NaN, unequal columns", () => {
    for (const harmonics of [1, 3, 6]) {
      const least = 2 * harmonics + 2;
      expect(() => harmonicDesign(normalColumn(4, least - 1), harmonics)).toThrow(TooFewSamplesError);
      expect(harmonicDesign(normalColumn(4, least), harmonics).columns).toHaveLength(2 * harmonics);
    }
    expect(() => fitHarmonics(normalColumn(1, 9), normalColumn(2, 9).fill(Number.NaN, 4, 5), 1)).toThrow(
      NotFiniteError,
    );
    expect(() => fitHarmonics(normalColumn(1, 9), normalColumn(2, 8), 1)).toThrow(CounterpoiseError);
  });

  test("no harmonic at all", () => {
    for (const harmonics of [0, -1, 1.5, Number.NaN])
      expect(() => harmonicDesign(normalColumn(1, 30), harmonics)).toThrow(CounterpoiseError);
  });

  test("phases that do not tell the harmonics apart", () => {
    // two phases only
    const theta = Float64Array.from({ length: 40 }, (_, i) => (i % 2) * Math.PI);
    let code = "none";
    try {
      fitHarmonics(theta, normalColumn(3, 40), 2);
    } catch (error) {
      if (error instanceof CounterpoiseError) code = error.code;
    }
    expect(code).toBe("rank-deficient");
  });
});

describe("choleskyFactor", () => {
  test("of an exact matrix is exact, and its inverse too", () => {
    // by hand: [[4, 2], [2, 5]] = [[2, 0], [1, 2]] times its transpose; the inverse is [[5, -2], [-2, 4]] / 16
    const lower = choleskyFactor(Float64Array.of(4, 2, 2, 5), 2, 1e-12) as Float64Array;
    expect([...lower]).toEqual([2, 0, 1, 2]);
    expect([...invertCholesky(lower, 2)]).toEqual([5 / 16, -2 / 16, -2 / 16, 4 / 16]);
    expect([...solveCholesky(lower, Float64Array.of(8, 12))]).toEqual([1, 2]);
  });

  test("is null where the matrix is singular or has a negative direction", () => {
    expect(choleskyFactor(Float64Array.of(1, 1, 1, 1), 2, 1e-12)).toBeNull();
    expect(choleskyFactor(Float64Array.of(1, 2, 2, 1), 2, 1e-12)).toBeNull();
  });
});

test("normal equations and reflections give the same fit", () => {
  const { theta, values } = gappy(8, 1500, -2);
  const fit = fitHarmonics(theta, values, 4);
  const design = [new Float64Array(theta.length).fill(1), ...harmonicBasis(theta, 4)];
  const joint = leastSquares(design, values);
  // the joint fit with a constant has the same harmonics: centring takes the constant out
  const found = [...fit.cosines].flatMap((cosine, k) => [cosine, fit.sines[k]!]);
  expect(worstDifference(found, joint.coefficients.slice(1))).toBeLessThan(1e-10);
  expect(worstDifference(fit.residuals, joint.residuals)).toBeLessThan(1e-10);
  expect(worstRelativeError([fit.remainingMeanSquare], [meanSquare(joint.residuals)])).toBeLessThan(1e-11);
});

test("over whole cycles the products of the harmonics are those of the addition theorem, not left to reflections", () => {
  const { theta } = gappy(9, 1200, 0);
  const { lower, columns, means } = harmonicDesign(theta, 3);
  // X'X about the means, product by product
  const p = columns.length;
  const gram = Float64Array.from({ length: p * p }, (_, at) => {
    const [a, b] = [Math.floor(at / p), at % p];
    return columns[a]!.reduce((sum, value, i) => sum + (value - means[a]!) * (columns[b]![i]! - means[b]!), 0);
  });
  expect(lower).not.toBeNull();
  // L L', lower triangle: sums of 1200 products, each rounded at 1e-16
  for (let a = 0; a < p; a++)
    for (let b = 0; b <= a; b++) {
      let product = 0;
      for (let k = 0; k <= b; k++) product += lower![a * p + k]! * lower![b * p + k]!;
      expect(Math.abs(product - gram[a * p + b]!)).toBeLessThan(1e-9);
    }
});
