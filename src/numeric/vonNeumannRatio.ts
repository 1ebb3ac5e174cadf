import { compensatedSum } from "./compensatedSum.ts";
import { mean } from "./mean.ts";
import { requireFinite } from "./requireFinite.ts";
import { requireSpread } from "./requireSpread.ts";
import { sumOfSquaresAbout } from "./sumOfSquaresAbout.ts";

/**
 * Mean square successive difference over the variance: near 2 for independent readings, near 0 for a slow drift,
 * towards 4 for readings that alternate.
 *
 *   ( sum (x[i+1] - x[i])^2 / (n - 1) ) / ( sum (x[i] - mean)^2 / n )
 *
 * The variance has denominator n, as in von Neumann's paper; independent normal readings then have
 * mean 2n / (n - 1) and variance 4 n^2 (n - 2) / ((n + 1) (n - 1)^3).
 *
 * @param values  n >= 2 equally spaced numbers
 * @returns 0 to 4 n / (n - 1)
 * @throws TooFewSamplesError  n < 2
 * @throws NotFiniteError      NaN or infinity at index i
 * @throws CounterpoiseError   code `no-spread`: all values are alike
 * @source J. von Neumann, Ann. Math. Stat. 12 (1941) 367-395
 * @example vonNeumannRatio(Float64Array.of(1, 2, 3)) // => 1.5
 */
export function vonNeumannRatio(values: Float64Array): number {
  requireFinite("vonNeumannRatio", values, 2);
  const n = values.length;
  const spread = sumOfSquaresAbout(values, mean(values));
  requireSpread("vonNeumannRatio", spread);
  const squares = new Float64Array(n - 1);
  for (let i = 0; i < n - 1; i++) squares[i] = (values[i + 1]! - values[i]!) ** 2;
  return compensatedSum(squares) / (n - 1) / (spread / n);
}
