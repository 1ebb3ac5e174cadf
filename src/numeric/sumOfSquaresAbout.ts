import { compensatedSum } from "./compensatedSum.ts";

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
