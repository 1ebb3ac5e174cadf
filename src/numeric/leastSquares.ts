import { CounterpoiseError } from "../foundation/errors.ts";
import { mean, sumOfSquaresAbout } from "./descriptive.ts";
import { requireFinite, requireSameLength } from "./requireArguments.ts";

interface LeastSquaresFit {
  /** one per column of the design */
  readonly coefficients: Float64Array;
  /** of the coefficients, for independent errors of equal variance */
  readonly standardErrors: Float64Array;
  /** y - fitted */
  readonly residuals: Float64Array;
  /** sqrt(sum of squared residuals / (n - p)) */
  readonly residualStandardDeviation: number;
  /** inverse of X'X, p x p, row-major; times the residual variance it is the covariance of the coefficients */
  readonly covarianceUnscaled: Float64Array;
  /** 1 - residual / total sum of squares about the mean; means something only where the columns can form a constant */
  readonly rSquared: number;
}

/**
 * A column counts as dependent on those before it where less than this part of its length is its own.
 * Rounding leaves 1e-16 to 1e-13 of a dependent column (growing with the root of n).
 */
const OWN_PART = 1e-11;

/**
 * Linear least squares by Householder reflections on columns scaled to unit length.
 * The normal equations would lose twice the digits that the columns' near-dependence costs.
 *
 * Cost: 2 n p^2 multiplications, one copy of the design.
 *
 * @param design  p columns of n numbers each, n > p; a constant term is a column of ones
 * @param y       n numbers
 * @throws TooFewSamplesError  n <= p
 * @throws NotFiniteError      NaN or infinity in a column or y
 * @throws CounterpoiseError   code `unequal-lengths`; code `rank-deficient`: no column, or one that depends on those before it
 * @source G. H. Golub, Numer. Math. 7 (1965) 206-216; the second pass: A. Bjorck, BIT 7 (1967) 257-278; products without
 *   rounding: T. J. Dekker, Numer. Math. 18 (1971) 224-242
 * @example leastSquares([Float64Array.of(1, 1, 1), Float64Array.of(0, 1, 2)], Float64Array.of(1, 3, 5)).coefficients // => 1, 2
 */
export function leastSquares(design: readonly Float64Array[], y: Float64Array): LeastSquaresFit {
  const n = y.length;
  const p = design.length;
  if (p === 0) throw new CounterpoiseError("rank-deficient", "leastSquares requires at least 1 column, found 0");
  for (const column of design) requireSameLength("leastSquares", n, column.length);
  for (const column of design) requireFinite("leastSquares", column, p + 1);
  requireFinite("leastSquares", y, p + 1);

  const lengths = new Float64Array(p);
  const columns = design.map((column, j) => {
    const length = Math.sqrt(squaredLength(column, 0));
    lengths[j] = length;
    if (!(length > 0)) throw rankDeficient(j);
    return column.map((value) => value / length);
  });
  const diagonal = new Float64Array(p);
  for (let j = 0; j < p; j++) {
    diagonal[j] = reflect(columns[j]!, j);
    if (Math.abs(diagonal[j]!) < OWN_PART) throw rankDeficient(j);
    for (let k = j + 1; k < p; k++) applyReflection(columns[j]!, j, columns[k]!);
  }

  const upper = (row: number, column: number): number => columns[column]![row]!;
  const solve = (values: Float64Array): Float64Array => {
    const solution = values.slice(0, p);
    for (let j = p - 1; j >= 0; j--) {
      for (let k = j + 1; k < p; k++) solution[j]! -= upper(j, k) * solution[k]!;
      solution[j]! /= diagonal[j]!;
    }
    return solution.map((value, j) => value / lengths[j]!);
  };
  // y turned: the first p are what the columns can reach. A second time for what the first left of y, taken without the
  // rounding of its products: readings far from 0 (1e12 and some tenths) keep their digits
  const turned = y.slice();
  for (let j = 0; j < p; j++) applyReflection(columns[j]!, j, turned);
  const coefficients = solve(turned);
  const left = leftOf(y, design, coefficients);
  for (let j = 0; j < p; j++) applyReflection(columns[j]!, j, left);
  const correction = solve(left);
  for (let j = 0; j < p; j++) coefficients[j]! += correction[j]!;
  const residuals = left;
  residuals.fill(0, 0, p);
  for (let j = p - 1; j >= 0; j--) applyReflection(columns[j]!, j, residuals);

  const covarianceUnscaled = inverseOfGram(upper, diagonal, lengths);
  const residualSquares = sumOfSquaresAbout(residuals, 0);
  const residualStandardDeviation = Math.sqrt(residualSquares / (n - p));
  const standardErrors = coefficients.map(
    (_, j) => residualStandardDeviation * Math.sqrt(covarianceUnscaled[j * p + j]!),
  );
  const total = sumOfSquaresAbout(y, mean(y));
  const rSquared = total > 0 ? 1 - residualSquares / total : Number.NaN;
  return { coefficients, standardErrors, residuals, residualStandardDeviation, covarianceUnscaled, rSquared };
}

function rankDeficient(column: number): CounterpoiseError {
  return new CounterpoiseError(
    "rank-deficient",
    `leastSquares requires independent columns, found column ${column} to be zero or a sum of those before it`,
    { hint: "leave the column out, or give data that tell the columns apart" },
  );
}

/** y less the columns times their coefficients, each sum carried in two numbers (Dekker's product, Knuth's sum). */
function leftOf(y: Float64Array, design: readonly Float64Array[], coefficients: Float64Array): Float64Array {
  const splitter = 134_217_729; // 2^27 + 1
  return y.map((value, i) => {
    let high = value;
    let low = 0;
    for (let j = 0; j < design.length; j++) {
      const a = design[j]![i]!;
      const b = -coefficients[j]!;
      const product = a * b;
      const aHigh = splitter * a - (splitter * a - a);
      const bHigh = splitter * b - (splitter * b - b);
      const aLow = a - aHigh;
      const bLow = b - bHigh;
      const productLow = aLow * bLow - (product - aHigh * bHigh - aLow * bHigh - aHigh * bLow);
      const sum = high + product;
      const back = sum - high;
      low += high - (sum - back) + (product - back) + productLow;
      high = sum;
    }
    return high + low;
  });
}

function squaredLength(column: Float64Array, from: number): number {
  let sum = 0;
  for (let i = from; i < column.length; i++) sum += column[i]! * column[i]!;
  return sum;
}

/** Turns column[j..] into the Householder vector that maps it on its own axis, |v|^2 = 2; gives what stays on the diagonal. */
function reflect(column: Float64Array, j: number): number {
  const length = Math.sqrt(squaredLength(column, j));
  if (length === 0) return 0;
  const diagonal = column[j]! > 0 ? -length : length;
  column[j]! -= diagonal;
  const scale = Math.sqrt(2 / squaredLength(column, j));
  for (let i = j; i < column.length; i++) column[i]! *= scale;
  return diagonal;
}

function applyReflection(vector: Float64Array, j: number, target: Float64Array): void {
  let dot = 0;
  for (let i = j; i < vector.length; i++) dot += vector[i]! * target[i]!;
  for (let i = j; i < vector.length; i++) target[i]! -= dot * vector[i]!;
}

function inverseOfGram(
  upper: (row: number, column: number) => number,
  diagonal: Float64Array,
  lengths: Float64Array,
): Float64Array {
  const p = diagonal.length;
  const inverse = new Float64Array(p * p);
  for (let column = 0; column < p; column++) {
    inverse[column * p + column] = 1 / diagonal[column]!;
    for (let row = column - 1; row >= 0; row--) {
      let sum = 0;
      for (let k = row + 1; k <= column; k++) sum += upper(row, k) * inverse[k * p + column]!;
      inverse[row * p + column] = -sum / diagonal[row]!;
    }
  }
  const product = new Float64Array(p * p);
  for (let a = 0; a < p; a++) {
    for (let b = a; b < p; b++) {
      let sum = 0;
      for (let k = b; k < p; k++) sum += inverse[a * p + k]! * inverse[b * p + k]!;
      product[a * p + b] = sum / (lengths[a]! * lengths[b]!);
      product[b * p + a] = product[a * p + b]!;
    }
  }
  return product;
}

interface LineFit {
  /** value at x = 0 */
  readonly intercept: number;
  readonly slope: number;
  readonly interceptStandardError: number;
  readonly slopeStandardError: number;
  /** denominator n - 2 */
  readonly residualStandardDeviation: number;
}

/**
 * Straight line by least squares. The standard errors hold for independent errors; along a track they are not,
 * and these are then far too small.
 *
 * The line is fitted about the mean of x, where intercept and slope do not disturb each other, however far away x = 0 is.
 *
 * @param x  n >= 3 numbers, not all alike
 * @param y  n numbers
 * @throws TooFewSamplesError  n < 3
 * @throws NotFiniteError      NaN or infinity
 * @throws CounterpoiseError   code `unequal-lengths`; code `rank-deficient`: all x alike
 * @example fitLine(Float64Array.of(0, 1, 2), Float64Array.of(1, 3, 5)).slope // => 2
 */
export function fitLine(x: Float64Array, y: Float64Array): LineFit {
  const centre = x.length > 0 ? mean(x) : 0;
  const fit = leastSquares([new Float64Array(x.length).fill(1), x.map((value) => value - centre)], y);
  const [height, slope] = fit.coefficients as unknown as readonly [number, number];
  const [c00, c01, , c11] = fit.covarianceUnscaled as unknown as readonly [number, number, number, number];
  return {
    intercept: height - slope * centre,
    slope,
    interceptStandardError: fit.residualStandardDeviation * Math.sqrt(c00 - 2 * centre * c01 + centre * centre * c11),
    slopeStandardError: fit.standardErrors[1]!,
    residualStandardDeviation: fit.residualStandardDeviation,
  };
}

/**
 * n over k, as a double; exact below 2^53.
 *
 * @param n  whole, 0 or more
 * @param k  whole, 0 to n
 * @example binomial(8, 4) // => 70
 */
export function binomial(n: number, k: number): number {
  const few = Math.min(k, n - k);
  let result = 1;
  for (let i = 1; i <= few; i++) result = (result * (n - few + i)) / i;
  return Math.round(result);
}
