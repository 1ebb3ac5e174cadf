import { mean } from "../../numeric/mean.ts";
import { sampleStandardDeviation } from "../../numeric/sampleStandardDeviation.ts";

/** Values of several runs in short. */
export interface Spread {
  /** runs that have the value */
  readonly n: number;
  readonly mean: number;
  /** between runs, with n - 1; null for one run */
  readonly sd: number | null;
}

/**
 * Mean and sample standard deviation (n - 1) over runs; runs without the value are left out and `n` says how many have it.
 *
 * @param values  one value per run, null where the run has none
 * @returns null where no run has one
 * @throws NotFiniteError  NaN or infinity
 */
export function spreadOf(values: readonly (number | null | undefined)[]): Spread | null {
  const known = Float64Array.from(values.filter((value) => value !== null && value !== undefined));
  if (known.length === 0) return null;
  return { n: known.length, mean: mean(known), sd: known.length < 2 ? null : sampleStandardDeviation(known) };
}
