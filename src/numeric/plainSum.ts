/*
 * Sums over the columns of a long log, without the guards and the compensation of `compensatedSum`: what they lose, 1e-13
 * of the sum, is far below any capture's noise. Loops alone in a function that returns one number: such a function is
 * compiled once for all its callers, while a loop with more behind it is compiled for each and thrown away at its end.
 */

/**
 * Sum of the values from `from` to before `to`; NaN where one of them is.
 *
 * @example plainSum(Float64Array.of(1, 2, 6)) // => 9
 */
export function plainSum(values: Float64Array, from = 0, to = values.length): number {
  let sum = 0;
  for (let i = from; i < to; i++) sum += values[i]!;
  return sum;
}

/**
 * Sum of (x - centre)^2; NaN where one of the values is.
 *
 * @example plainSumOfSquares(Float64Array.of(1, 2, 6), 3) // => 14
 */
export function plainSumOfSquares(values: Float64Array, centre = 0): number {
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += (values[i]! - centre) * (values[i]! - centre);
  return sum;
}
