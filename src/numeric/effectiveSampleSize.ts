import { CounterpoiseError } from "../foundation/errors.ts";
import { requireFinite } from "./requireFinite.ts";

/**
 * How many independent readings would give the mean of n correlated ones: the variance of the mean is
 * variance / effectiveSampleSize.
 *
 *   n^2 / ( sum over i, j of rho[|i - j|] ) = n^2 / ( n + 2 sum over k of (n - k) rho[k] )
 *
 * For a *model's* autocorrelation. Sample autocorrelations put in here sum to nonsense: they add up to -1/2 by construction.
 *
 * @param autocorrelation  rho[0..n-1], rho[0] = 1
 * @returns above 0; larger than n where neighbours are anti-correlated
 * @throws TooFewSamplesError  n < 1
 * @throws NotFiniteError      NaN or infinity at index i
 * @throws CounterpoiseError   code `not-an-autocorrelation`: the sum is not positive, or rho[0] is not 1
 * @source M. S. Bartlett, J. R. Stat. Soc. Suppl. 8 (1946) 27-41
 * @example effectiveSampleSize(Float64Array.of(1, 0.5)) // => 1.3333333333333333
 */
export function effectiveSampleSize(autocorrelation: Float64Array): number {
  requireFinite("effectiveSampleSize", autocorrelation);
  const n = autocorrelation.length;
  let sum = n;
  for (let k = 1; k < n; k++) sum += 2 * (n - k) * autocorrelation[k]!;
  if (autocorrelation[0] !== 1 || !(sum > 0)) {
    throw new CounterpoiseError(
      "not-an-autocorrelation",
      `effectiveSampleSize requires rho[0] = 1 and a positive sum, found ${autocorrelation[0]} and ${sum}`,
      { hint: "give the autocorrelation of a stationary model, not of a sample" },
    );
  }
  return (n * n) / sum;
}
