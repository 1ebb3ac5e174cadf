import { compensatedSum } from "./compensatedSum.ts";
import { requireFinite } from "./requireFinite.ts";

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
