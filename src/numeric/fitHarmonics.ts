import { CounterpoiseError } from "../foundation/errors.ts";
import { choleskyFactor, invertCholesky, solveCholesky } from "./choleskyFactor.ts";
import { harmonicBasis } from "./harmonicBasis.ts";
import { leastSquares } from "./leastSquares.ts";
import { mean } from "./mean.ts";
import { requireFinite } from "./requireFinite.ts";
import { requireSameLength } from "./requireSameLength.ts";
import { sumOfSquaresAbout } from "./sumOfSquaresAbout.ts";

export interface HarmonicFit {
  /** mean of the values themselves, not the constant of a joint fit: with gaps the two differ */
  readonly mean: number;
  /** of harmonic 1..K */
  readonly cosines: Float64Array;
  /** of harmonic 1..K */
  readonly sines: Float64Array;
  /** values - mean - synchronous part; their mean is nought */
  readonly residuals: Float64Array;
  /** inverse of X'X of the centred columns, 2K x 2K, row-major, order c1 s1 c2 s2 ... */
  readonly covarianceUnscaled: Float64Array;
  /** mean square of the centred synchronous part */
  readonly synchronousMeanSquare: number;
  /** mean square of the residuals */
  readonly remainingMeanSquare: number;
}

/**
 * Below this part of a column's square left at its turn the normal equations would cost more than six digits;
 * reflections take over. Over whole cycles nearly all of it is left.
 */
const OWN_PART = 1e-6;

/** rows summed at a time: eleven columns of them stay in the processor's cache, and partial sums round less */
const BLOCK = 1024;

/** The harmonics of one set of phases, ready to be fitted to any number of series at those phases. */
export interface HarmonicDesign {
  /** cos k theta, sin k theta about their means, order c1 s1 c2 s2 ... */
  readonly columns: readonly Float64Array[];
  /** Cholesky factor of X'X; null where the columns are too alike for it */
  readonly lower: Float64Array | null;
}

/**
 * Prepares the harmonics of n phases: what costs most in a fit is done once for all series at the same phases.
 *
 * @param theta      n > 2 K + 1 phases, radians
 * @param harmonics  K >= 1
 * @throws TooFewSamplesError  n < 2 K + 2
 * @throws NotFiniteError      NaN or infinity
 * @throws CounterpoiseError   code `rank-deficient`: all phases are alike
 */
export function harmonicDesign(theta: Float64Array, harmonics: number): HarmonicDesign {
  requireFinite("harmonicDesign", theta, 2 * harmonics + 2);
  const columns = harmonicBasis(theta, harmonics);
  for (const column of columns) {
    const middle = mean(column);
    for (let i = 0; i < column.length; i++) column[i]! -= middle;
    // what centring leaves of a constant column is rounding, and must not be taken for a harmonic
    if (dot(column, column, 0, column.length) < 1e-20 * column.length) {
      throw new CounterpoiseError("rank-deficient", "found phases that are all alike, expected phases over the cycle");
    }
  }
  const p = columns.length;
  const gram = new Float64Array(p * p);
  for (let from = 0; from < theta.length; from += BLOCK) {
    const to = Math.min(from + BLOCK, theta.length);
    for (let a = 0; a < p; a++) {
      for (let b = 0; b <= a; b++) gram[a * p + b]! += dot(columns[a]!, columns[b]!, from, to);
    }
  }
  return { columns, lower: choleskyFactor(gram, p, OWN_PART) };
}

/**
 * Fits prepared harmonics to one series; see fitHarmonics.
 *
 * @param values  n numbers
 * @throws NotFiniteError      NaN or infinity
 * @throws CounterpoiseError   code `unequal-lengths`; code `rank-deficient`: the phases do not tell the harmonics apart
 */
export function fitHarmonicDesign(design: HarmonicDesign, values: Float64Array): HarmonicFit {
  const { columns, lower } = design;
  requireSameLength("fitHarmonicDesign", columns[0]!.length, values.length);
  requireFinite("fitHarmonicDesign", values, columns.length + 2);
  const centre = mean(values);
  const rest = values.map((value) => value - centre);
  const { coefficients, covarianceUnscaled } =
    lower === null
      ? leastSquares(columns, rest)
      : {
          coefficients: solveCholesky(
            lower,
            Float64Array.from(columns, (column) => dot(column, rest, 0, rest.length)),
          ),
          covarianceUnscaled: invertCholesky(lower, columns.length),
        };
  const synchronous = new Float64Array(values.length);
  columns.forEach((column, j) => {
    const factor = coefficients[j]!;
    for (let i = 0; i < column.length; i++) synchronous[i]! += factor * column[i]!;
  });
  for (let i = 0; i < rest.length; i++) rest[i]! -= synchronous[i]!;
  return {
    mean: centre,
    cosines: coefficients.filter((_, j) => j % 2 === 0),
    sines: coefficients.filter((_, j) => j % 2 === 1),
    residuals: rest,
    covarianceUnscaled,
    synchronousMeanSquare: sumOfSquaresAbout(synchronous, 0) / values.length,
    remainingMeanSquare: sumOfSquaresAbout(rest, 0) / values.length,
  };
}

/**
 * Least-squares harmonics of a cycle phase: values - mean regressed on cos k theta, sin k theta about *their* means.
 *
 * Because the columns are centred, mean, synchronous part and rest are at right angles whatever gaps theta has:
 *
 *   mean^2 + synchronousMeanSquare + remainingMeanSquare = mean square of the values
 *
 * Normal equations with a Cholesky factor: over whole cycles the columns are all but at right angles and of like
 * length (condition near 1), so nothing is lost, and one pass over n is enough. Where theta covers only an arc, the
 * columns grow alike and the fit goes by Householder reflections.
 *
 * @param theta      n > 2 K + 1 phases, radians
 * @param values     n numbers
 * @param harmonics  K >= 1
 * @throws TooFewSamplesError  n < 2 K + 2
 * @throws NotFiniteError      NaN or infinity
 * @throws CounterpoiseError   code `unequal-lengths`; code `rank-deficient`: the phases do not tell the harmonics apart
 * @example fitHarmonics(Float64Array.of(0, 1.5, 3, 4.5), Float64Array.of(0, 1.5, 3, 4.5).map((x) => 2 + 3 * Math.cos(x)), 1).cosines // => 3
 */
export function fitHarmonics(theta: Float64Array, values: Float64Array, harmonics: number): HarmonicFit {
  requireSameLength("fitHarmonics", theta.length, values.length);
  return fitHarmonicDesign(harmonicDesign(theta, harmonics), values);
}

function dot(a: Float64Array, b: Float64Array, from: number, to: number): number {
  let sum = 0;
  for (let i = from; i < to; i++) sum += a[i]! * b[i]!;
  return sum;
}
