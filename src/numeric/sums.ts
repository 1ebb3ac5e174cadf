import { sum } from "simple-statistics";
import { requireFinite } from "./requireArguments.ts";

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
