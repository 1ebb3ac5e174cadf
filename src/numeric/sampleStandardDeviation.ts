import { compensatedSum } from "./compensatedSum.ts";
import { mean } from "./mean.ts";
import { requireFinite } from "./requireFinite.ts";
import { sumOfSquaresAbout } from "./sumOfSquaresAbout.ts";

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
