import { TooFewSamplesError } from "../foundation/errors.ts";
import { requireProbability } from "./requireProbability.ts";

/**
 * `quantile` of values that are already in ascending order, NaN-free (neither is checked: that would cost
 * more than the quantile).
 *
 * @param sorted       n >= 1 numbers, ascending
 * @param probability  0 to 1
 * @returns the unit of the values
 * @throws TooFewSamplesError  n < 1
 * @throws CounterpoiseError   code `not-a-probability`
 * @source R. J. Hyndman, Y. Fan, Am. Stat. 50 (1996) 361-365, definition 7
 * @example quantileSorted(Float64Array.of(1, 2, 4), 0.75) // => 3
 */
export function quantileSorted(sorted: Float64Array, probability: number): number {
  requireProbability("quantileSorted", probability);
  if (sorted.length < 1) throw new TooFewSamplesError("quantileSorted", 1, 0);
  const position = (sorted.length - 1) * probability;
  const below = Math.floor(position);
  const low = sorted[below]!;
  if (position === below) return low;
  return low + (position - below) * (sorted[below + 1]! - low);
}
