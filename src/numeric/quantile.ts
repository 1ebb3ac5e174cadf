import { quickselect } from "simple-statistics";
import { requireFinite } from "./requireFinite.ts";
import { requireProbability } from "./requireProbability.ts";

/**
 * Sample quantile of type 7: linear between order statistics, the p-quantile at position (n - 1) p from 0.
 * The default of R and NumPy; other programs use other types, which differ for few values.
 *
 * Selection (Floyd and Rivest, by simple-statistics' `quickselect`) on a copy: linear in n. The quantile of that
 * library itself is another type and is not used. For many quantiles of one array sort it once and use `quantileSorted`.
 *
 * @param values       n >= 1 numbers, any order; left as they are
 * @param probability  0 to 1
 * @returns the unit of the values
 * @throws TooFewSamplesError  n < 1
 * @throws NotFiniteError      NaN or infinity at index i
 * @throws CounterpoiseError   code `not-a-probability`
 * @source R. J. Hyndman, Y. Fan, Am. Stat. 50 (1996) 361-365, definition 7
 * @example quantile(Float64Array.of(4, 1, 2), 0.75) // => 3
 */
export function quantile(values: Float64Array, probability: number): number {
  return quantileReordering(values.slice(), probability);
}

/**
 * `quantile` without the copy: leaves the values in another order. For a column that the caller made for this and lets
 * go, which of a long log is megabytes.
 *
 * @param values       n >= 1 numbers, any order; their order changes
 * @param probability  0 to 1
 * @returns the unit of the values
 * @throws TooFewSamplesError  n < 1
 * @throws NotFiniteError      NaN or infinity at index i
 * @throws CounterpoiseError   code `not-a-probability`
 * @example quantileReordering(Float64Array.of(4, 1, 2), 0.75) // => 3
 */
export function quantileReordering(values: Float64Array, probability: number): number {
  requireProbability("quantile", probability);
  requireFinite("quantile", values);
  const position = (values.length - 1) * probability;
  const below = Math.floor(position);
  quickselect(values as unknown as number[], below);
  const low = values[below]!;
  if (position === below) return low;
  // everything right of the selected one is at least as large: the next order statistic is the least of it
  let high = Number.POSITIVE_INFINITY;
  for (let i = below + 1; i < values.length; i++) if (values[i]! < high) high = values[i]!;
  return low + (position - below) * (high - low);
}
