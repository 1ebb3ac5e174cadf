import { quantile } from "./quantile.ts";

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
