import { CounterpoiseError } from "../foundation/errors.ts";
import { mean, plainSum, plainSumOfSquares } from "./descriptive.ts";
import { harmonicBasis, turnOn } from "./harmonicBasis.ts";
import { leastSquares } from "./leastSquares.ts";
import { requireFinite, requireSameLength } from "./requireArguments.ts";
import { choleskyFactor, invertCholesky, solveCholesky } from "./symmetricMatrix.ts";

export interface HarmonicFit {
  /** mean of the values themselves, not the constant of a joint fit: with gaps the two differ */
  readonly mean: number;
  /** of harmonic 1..K */
  readonly cosines: Float64Array;
  /** of harmonic 1..K */
  readonly sines: Float64Array;
  /** values - mean - synchronous part; their mean is zero */
  readonly residuals: Float64Array;
  /** inverse of X'X of the centred columns, 2K x 2K, row-major, order c1 s1 c2 s2 ... */
  readonly covarianceUnscaled: Float64Array;
  /** mean square of the centred synchronous part */
  readonly synchronousMeanSquare: number;
  /** mean square of the residuals */
  readonly remainingMeanSquare: number;
}

/**
 * Below this part of a column's square left at its turn the normal equations would cost more digits than six for the column;
 * reflections take over. Over whole cycles nearly all of it is left, and of many harmonics on an arc each costs some: seven of
 * them on half a turn keep five digits.
 */
const OWN_PART = 1e-6;

/**
 * Least variance of a column about its mean (over whole cycles 1/2) of which the difference of two sums, each rounded to 1e-16,
 * still tells fourteen digits.
 */
const LEAST_VARIANCE = 0.01;

/** The harmonics of one set of phases, ready to be fitted to any number of series at those phases. */
export interface HarmonicDesign {
  /** cos k theta, sin k theta, order c1 s1 c2 s2 ... */
  readonly columns: readonly Float64Array[];
  /** means of the columns: the fit is one to the columns about these */
  readonly means: Float64Array;
  /** Cholesky factor of X'X of the columns about their means; null where they are too alike for it */
  readonly lower: Float64Array | null;
}

/**
 * Prepares the harmonics of n phases: what costs most in a fit is done once for all series at the same phases.
 *
 * A product of two harmonics is half the sum of two others: X'X follows from the means of the harmonics up to 2 K.
 *
 * @param theta      n > 2 K + 1 phases, radians
 * @param harmonics  K >= 1
 * @throws TooFewSamplesError  n < 2 K + 2
 * @throws NotFiniteError      NaN or infinity
 * @throws CounterpoiseError   code `rank-deficient`: all phases are alike; code `no-harmonic`: K is no whole number from 1 on
 */
export function harmonicDesign(theta: Float64Array, harmonics: number): HarmonicDesign {
  if (!(Number.isInteger(harmonics) && harmonics >= 1)) {
    throw new CounterpoiseError(
      "no-harmonic",
      `harmonicDesign requires a whole number of harmonics, found ${harmonics}`,
    );
  }
  requireFinite("harmonicDesign", theta, 2 * harmonics + 2);
  const columns = harmonicBasis(theta, harmonics);
  const sums = multipleSums(columns, harmonics);
  const means = Float64Array.from(columns, (_, j) => sums[2 + j]! / theta.length);
  const gram = centredGram(sums, means, theta.length);
  const p = columns.length;
  const spread = columns.every((_, j) => gram[j * p + j]! > LEAST_VARIANCE * theta.length);
  const lower = spread ? choleskyFactor(gram, p, OWN_PART) : null;
  // what centring leaves of a constant column is rounding, and must not be taken for a harmonic
  if (!spread && centred({ columns, means }).some((column) => plainSumOfSquares(column) < 1e-20 * column.length)) {
    throw new CounterpoiseError("rank-deficient", "found phases that are all alike, expected phases over the cycle");
  }
  return { columns, means, lower };
}

/** Sums of cos k theta and sin k theta over the samples, k = 0..2 K, order C0 S0 C1 S1 ... */
function multipleSums(columns: readonly Float64Array[], harmonics: number): Float64Array {
  const n = columns[0]!.length;
  const sums = new Float64Array(4 * harmonics + 2);
  sums[0] = n;
  columns.forEach((column, j) => {
    sums[2 + j] = plainSum(column);
  });
  const cosine = new Float64Array(n);
  const sine = new Float64Array(n);
  const [lastC, lastS] = [columns[2 * harmonics - 2]!, columns[2 * harmonics - 1]!];
  turnOn(lastC, lastS, columns[0]!, columns[1]!, cosine, sine);
  for (let k = harmonics + 1; ; k++) {
    sums[2 * k] = plainSum(cosine);
    sums[2 * k + 1] = plainSum(sine);
    if (k === 2 * harmonics) return sums;
    turnOn(cosine, sine, columns[0]!, columns[1]!, cosine, sine);
  }
}

/** X'X of the columns about their means, lower triangle, from the sums of the multiples by the addition theorem. */
function centredGram(sums: Float64Array, means: Float64Array, n: number): Float64Array {
  const p = means.length;
  const gram = new Float64Array(p * p);
  for (let a = 0; a < p; a++) {
    for (let b = 0; b <= a; b++) {
      const [k, l] = [(a >> 1) + 1, (b >> 1) + 1];
      const [sum, apart] = [2 * (k + l), 2 * (k - l)];
      const sineOfA = a % 2 === 1;
      const sineOfB = b % 2 === 1;
      // cos k cos l, sin k sin l, sin k cos l, cos k sin l; k >= l
      let twice: number;
      if (sineOfA === sineOfB) twice = sums[apart]! + (sineOfA ? -sums[sum]! : sums[sum]!);
      else twice = sums[sum + 1]! + (sineOfA ? sums[apart + 1]! : -sums[apart + 1]!);
      gram[a * p + b] = 0.5 * twice - n * means[a]! * means[b]!;
    }
  }
  return gram;
}

function centred({ columns, means }: Pick<HarmonicDesign, "columns" | "means">): Float64Array[] {
  return columns.map((column, j) => {
    const mean = means[j]!;
    return column.map((value) => value - mean);
  });
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
 * @param values  n numbers
 * @throws NotFiniteError      NaN or infinity
 * @throws CounterpoiseError   code `unequal-lengths`; code `rank-deficient`: the phases do not tell the harmonics apart
 * @example fitHarmonicDesign(harmonicDesign(Float64Array.of(0, 1.5, 3, 4.5), 1), Float64Array.of(0, 1.5, 3, 4.5).map((x) => 2 + 3 * Math.cos(x))).cosines // => 3
 */
export function fitHarmonicDesign(design: HarmonicDesign, values: Float64Array): HarmonicFit {
  const { columns, means, lower } = design;
  const centre = mean(aligned("fitHarmonicDesign", design, values));
  const rest = lessConstant(values, centre);
  const { coefficients, covarianceUnscaled } =
    lower === null
      ? leastSquares(centred(design), rest)
      : {
          coefficients: solveCholesky(lower, products(design, rest)),
          covarianceUnscaled: invertCholesky(lower, columns.length),
        };
  const constant = coefficients.reduce((sum, coefficient, j) => sum - coefficient * means[j]!, 0);
  const synchronous = new Float64Array(values.length).fill(constant);
  for (let j = 0; j < columns.length; j += 2) {
    addPair(synchronous, columns[j]!, coefficients[j]!, columns[j + 1]!, coefficients[j + 1]!);
  }
  subtract(rest, synchronous);
  return {
    mean: centre,
    cosines: coefficients.filter((_, j) => j % 2 === 0),
    sines: coefficients.filter((_, j) => j % 2 === 1),
    residuals: rest,
    covarianceUnscaled,
    synchronousMeanSquare: plainSumOfSquares(synchronous) / values.length,
    remainingMeanSquare: plainSumOfSquares(rest) / values.length,
  };
}

/** What prepared harmonics leave of one series, as `fitHarmonicDesign` gives it; over whole cycles to 1e-14 of the whole. */
export interface HarmonicShare {
  /** mean square of the series about its mean */
  readonly meanSquare: number;
  /** mean square of what the harmonics leave */
  readonly remainingMeanSquare: number;
}

/**
 * How much of one series prepared harmonics leave: the square of the whole less that of the fit, without the residuals
 * themselves, for a search among many phases.
 *
 * @param values  n numbers
 * @throws NotFiniteError      NaN or infinity
 * @throws CounterpoiseError   code `unequal-lengths`; code `rank-deficient`: the phases do not tell the harmonics apart
 */
export function harmonicShare(design: HarmonicDesign, values: Float64Array): HarmonicShare {
  const n = values.length;
  if (design.lower === null) {
    const { synchronousMeanSquare, remainingMeanSquare } = fitHarmonicDesign(design, values);
    return { meanSquare: synchronousMeanSquare + remainingMeanSquare, remainingMeanSquare };
  }
  const rest = lessConstant(values, mean(aligned("harmonicShare", design, values)));
  const right = products(design, rest);
  const coefficients = solveCholesky(design.lower, right);
  const explained = coefficients.reduce((sum, coefficient, j) => sum + coefficient * right[j]!, 0);
  const whole = plainSumOfSquares(rest);
  return { meanSquare: whole / n, remainingMeanSquare: Math.max(0, whole - explained) / n };
}

function aligned(functionName: string, { columns }: HarmonicDesign, values: Float64Array): Float64Array {
  requireSameLength(functionName, columns[0]!.length, values.length);
  requireFinite(functionName, values, columns.length + 2);
  return values;
}

/** Products of the columns about their means with a series about its own. */
function products({ columns, means }: HarmonicDesign, rest: Float64Array): Float64Array {
  const right = new Float64Array(columns.length);
  for (let j = 0; j < columns.length; j += 2) addProducts(columns[j]!, columns[j + 1]!, rest, right, j);
  // zero but for the rounding of the mean
  const left = plainSum(rest);
  return right.map((product, j) => product - means[j]! * left);
}

/*
 * The loops over samples, each alone in a function that is compiled once for all its callers. Two sums side by side wait
 * for each other's additions no more than one does for its own.
 */

function addProducts(a: Float64Array, b: Float64Array, values: Float64Array, to: Float64Array, at: number): void {
  let first = 0;
  let second = 0;
  for (let i = 0; i < values.length; i++) {
    first += a[i]! * values[i]!;
    second += b[i]! * values[i]!;
  }
  to[at] = first;
  to[at + 1] = second;
}

function addPair(out: Float64Array, a: Float64Array, ofA: number, b: Float64Array, ofB: number): void {
  for (let i = 0; i < out.length; i++) out[i]! += ofA * a[i]! + ofB * b[i]!;
}

function lessConstant(values: Float64Array, constant: number): Float64Array {
  const out = new Float64Array(values.length);
  for (let i = 0; i < out.length; i++) out[i] = values[i]! - constant;
  return out;
}

function subtract(from: Float64Array, values: Float64Array): void {
  for (let i = 0; i < from.length; i++) from[i]! -= values[i]!;
}
