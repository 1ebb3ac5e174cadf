import { requireFinite } from "./requireFinite.ts";
import { sumOfSquaresAbout } from "./sumOfSquaresAbout.ts";

/**
 * Root of the mean of the squares (denominator n), about zero.
 *
 * @param values  n >= 1 numbers
 * @returns the unit of the values, >= 0
 * @throws TooFewSamplesError  n < 1
 * @throws NotFiniteError      NaN or infinity at index i
 * @example rootMeanSquare(Float64Array.of(1, 7)) // => 5
 */
export function rootMeanSquare(values: Float64Array): number {
  requireFinite("rootMeanSquare", values);
  return Math.sqrt(sumOfSquaresAbout(values, 0) / values.length);
}
