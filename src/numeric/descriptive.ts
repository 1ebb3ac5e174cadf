import { quickselect, sum } from "simple-statistics";
import { requireFinite, requireProbability } from "./requireArguments.ts";

/**
 * Arithmetic mean, by a compensated sum.
 *
 * @param values  n >= 1 numbers
 * @returns the unit of the values
 * @throws TooFewSamplesError  n < 1
 * @throws NotFiniteError      NaN or infinity at index i
 * @example mean(Float64Array.of(1, 2, 6)) // => 3
 */
export function mean(values: Float64Array): number {
  requireFinite("mean", values);
  return compensatedSum(values) / values.length;
}

/**
 * Median: the middle value, or the mean of the middle two.
 *
 * @param values  n >= 1 numbers, any order; left as they are
 * @returns the unit of the values
 * @throws TooFewSamplesError  n < 1
 * @throws NotFiniteError      NaN or infinity at index i
 * @example median(Float64Array.of(4, 1, 2, 9)) // => 3
 */
export function median(values: Float64Array): number {
  return quantile(values, 0.5);
}

/**
 * Sample quantile of type 7: linear between order statistics, the p-quantile at position (n - 1) p from 0.
 * The default of R and NumPy; other programs use other types, which differ for few values.
 *
 * Selection (Floyd and Rivest, by simple-statistics' `quickselect`) on a copy: linear in n. The quantile of that
 * library itself is another type and is not used. For many quantiles of one array sort it once and use `quantileSorted`.
 *
 * @param values       n >= 1 numbers, any order; left as they are
 * @param probability  0 to 1
 * @returns the unit of the values
 * @throws TooFewSamplesError  n < 1
 * @throws NotFiniteError      NaN or infinity at index i
 * @throws CounterpoiseError   code `not-a-probability`
 * @source R. J. Hyndman, Y. Fan, Am. Stat. 50 (1996) 361-365, definition 7
 * @example quantile(Float64Array.of(4, 1, 2), 0.75) // => 3
 */
export function quantile(values: Float64Array, probability: number): number {
  return quantileReordering(values.slice(), probability);
}

/**
 * `quantile` without the copy: leaves the values in another order. For a column that the caller made for this and lets
 * go, which of a long log is megabytes.
 *
 * @param values       n >= 1 numbers, any order; their order changes
 * @param probability  0 to 1
 * @returns the unit of the values
 * @throws TooFewSamplesError  n < 1
 * @throws NotFiniteError      NaN or infinity at index i
 * @throws CounterpoiseError   code `not-a-probability`
 * @example quantileReordering(Float64Array.of(4, 1, 2), 0.75) // => 3
 */
export function quantileReordering(values: Float64Array, probability: number): number {
  requireProbability("quantile", probability);
  requireFinite("quantile", values);
  const position = (values.length - 1) * probability;
  const below = Math.floor(position);
  quickselect(values as unknown as number[], below);
  const low = values[below]!;
  if (position === below) return low;
  // everything right of the selected one is at least as large: the next order statistic is the least of it
  let high = Number.POSITIVE_INFINITY;
  for (let i = below + 1; i < values.length; i++) if (values[i]! < high) high = values[i]!;
  return low + (position - below) * (high - low);
}

/**
 * Sample standard deviation with denominator n - 1, in two passes. `rootMeanSquare` is its twin about zero with n.
 *
 *   sqrt( (sum of d^2 - (sum of d)^2 / n) / (n - 1) ),  d = x - mean
 *
 * The second term is zero but for the rounding of the mean; it matters where the spread is small beside the mean.
 *
 * @param values  n >= 2 numbers
 * @returns the unit of the values, >= 0
 * @throws TooFewSamplesError  n < 2
 * @throws NotFiniteError      NaN or infinity at index i
 * @source T. F. Chan, G. H. Golub, R. J. LeVeque, Am. Stat. 37 (1983) 242-247
 * @example sampleStandardDeviation(Float64Array.of(1, 2, 3)) // => 1
 */
export function sampleStandardDeviation(values: Float64Array): number {
  requireFinite("sampleStandardDeviation", values, 2);
  const n = values.length;
  const centre = mean(values);
  const rounding = compensatedSum(values.map((value) => value - centre));
  return Math.sqrt(Math.max(0, sumOfSquaresAbout(values, centre) - (rounding * rounding) / n) / (n - 1));
}

/**
 * Sum of (x - centre)^2, compensated; about the mean it subtracts what the rounding of the mean adds.
 *
 * @param values  n numbers, finite
 * @param centre  same unit
 * @throws NotFiniteError  NaN or infinity at index i
 * @source T. F. Chan, G. H. Golub, R. J. LeVeque, Am. Stat. 37 (1983) 242-247: the corrected two-pass algorithm
 * @example sumOfSquaresAbout(Float64Array.of(1, 2, 6), 3) // => 14
 */
export function sumOfSquaresAbout(values: Float64Array, centre: number): number {
  return compensatedSum(values.map((value) => (value - centre) * (value - centre)));
}

/**
 * Least and greatest value of a column; NaN is passed over here because it marks what is not known, and is counted by
 * its owner. Infinity and -Infinity for a column without a number.
 *
 * @example extent(Float64Array.of(2, -1, 3)).low // => -1
 */
export function extent(column: Float64Array): { low: number; high: number } {
  return { low: lowest(column), high: highest(column) };
}

// two plain loops: one that finds both is slower, as it is compiled again each time it ends
function lowest(column: Float64Array): number {
  let low = Number.POSITIVE_INFINITY;
  for (let i = 0; i < column.length; i++) if (column[i]! < low) low = column[i]!;
  return low;
}

function highest(column: Float64Array): number {
  let high = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < column.length; i++) if (column[i]! > high) high = column[i]!;
  return high;
}

/*
 * Sums over the columns of a long log, without the guards and the compensation of `compensatedSum`: what they lose, 1e-13
 * of the sum, is far below any capture's noise. Loops alone in a function that returns one number: such a function is
 * compiled once for all its callers, while a loop with more behind it is compiled for each and thrown away at its end. Four
 * sums side by side: an addition waits for the one before it in its sum, not for those of the others.
 */

/**
 * Sum of the values from `from` to before `to`; NaN where one of them is.
 *
 * @example plainSum(Float64Array.of(1, 2, 6)) // => 9
 */
export function plainSum(values: Float64Array, from = 0, to = values.length): number {
  let s0 = 0;
  let s1 = 0;
  let s2 = 0;
  let s3 = 0;
  let i = from;
  for (; i + 3 < to; i += 4) {
    s0 += values[i]!;
    s1 += values[i + 1]!;
    s2 += values[i + 2]!;
    s3 += values[i + 3]!;
  }
  for (; i < to; i++) s0 += values[i]!;
  return s0 + s1 + (s2 + s3);
}

/**
 * Sum of (x - centre)^2; NaN where one of the values is.
 *
 * @example plainSumOfSquares(Float64Array.of(1, 2, 6), 3) // => 14
 */
export function plainSumOfSquares(values: Float64Array, centre = 0): number {
  const n = values.length;
  let s0 = 0;
  let s1 = 0;
  let s2 = 0;
  let s3 = 0;
  let i = 0;
  for (; i + 3 < n; i += 4) {
    s0 += (values[i]! - centre) * (values[i]! - centre);
    s1 += (values[i + 1]! - centre) * (values[i + 1]! - centre);
    s2 += (values[i + 2]! - centre) * (values[i + 2]! - centre);
    s3 += (values[i + 3]! - centre) * (values[i + 3]! - centre);
  }
  for (; i < n; i++) s0 += (values[i]! - centre) * (values[i]! - centre);
  return s0 + s1 + (s2 + s3);
}

/**
 * Sum with the rounding of every addition carried along, so that a million readings add up to the last digit.
 * The sum of simple-statistics is that of Neumaier (1974); for typed arrays it needs only another type.
 *
 * @param values  n numbers; 0 for none
 * @throws NotFiniteError  NaN or infinity at index i
 * @source A. Neumaier, Z. angew. Math. Mech. 54 (1974) 39-51
 * @example compensatedSum(Float64Array.of(1, 1e100, 1, -1e100)) // => 2
 */
export function compensatedSum(values: Float64Array): number {
  requireFinite("compensatedSum", values, 0);
  return sum(values as unknown as number[]);
}
