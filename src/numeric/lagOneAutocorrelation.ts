import { compensatedSum } from "./compensatedSum.ts";
import { mean } from "./mean.ts";
import { requireFinite } from "./requireFinite.ts";
import { requireSpread } from "./requireSpread.ts";
import { sumOfSquaresAbout } from "./sumOfSquaresAbout.ts";

/**
 * Lag-one autocorrelation as NIST defines it: both factors about the mean of the whole series.
 *
 *   sum over i of (x[i] - mean)(x[i+1] - mean) / sum over i of (x[i] - mean)^2
 *
 * @param values  n >= 2 equally spaced numbers
 * @returns -1 to 1
 * @throws TooFewSamplesError  n < 2
 * @throws NotFiniteError      NaN or infinity at index i
 * @throws CounterpoiseError   code `no-spread`: all values are alike
 * @source NIST/ITL Statistical Reference Datasets, univariate summary statistics
 * @example lagOneAutocorrelation(Float64Array.of(1, 2, 3)) // => 0
 */
export function lagOneAutocorrelation(values: Float64Array): number {
  requireFinite("lagOneAutocorrelation", values, 2);
  const centre = mean(values);
  const spread = sumOfSquaresAbout(values, centre);
  requireSpread("lagOneAutocorrelation", spread);
  const products = new Float64Array(values.length - 1);
  for (let i = 0; i < products.length; i++) products[i] = (values[i]! - centre) * (values[i + 1]! - centre);
  return compensatedSum(products) / spread;
}
