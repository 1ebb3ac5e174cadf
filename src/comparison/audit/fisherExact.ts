import { CounterpoiseError } from "../../foundation/errors.ts";

/** Tables as likely as the one at hand, but for rounding, count with it (as in R's `fisher.test`). */
const tie = 1 + 1e-7;

/**
 * Fisher's exact test of two shares: how often chance alone, with the same totals, gives a table no likelier than this one.
 * Two-sided.
 *
 * @param first   how many of the first group have it, and how many it is in all
 * @param second  the same of the second group
 * @returns 0 to 1; 1 where all or none have it
 * @throws CounterpoiseError  code `not-a-count`: not whole, below 0, or more that have it than there are
 * @source R. A. Fisher, J. R. Stat. Soc. 98 (1935) 39-82; two-sided by the tables' probabilities
 * @example fisherExact([0, 4], [4, 4]) // => 2 / 70
 */
export function fisherExact(first: readonly [number, number], second: readonly [number, number]): number {
  for (const [have, all] of [first, second]) {
    if (Number.isInteger(have) && Number.isInteger(all) && have >= 0 && have <= all) continue;
    throw new CounterpoiseError("not-a-count", `fisherExact requires counts, found ${have} of ${all}`);
  }
  const have = first[0] + second[0];
  const least = Math.max(0, have - second[1]);
  const most = Math.min(have, first[1]);
  // each table's weight from its neighbour's, in logarithms: no factorial is ever formed
  const logs = new Float64Array(most - least + 1);
  for (let k = least + 1; k <= most; k++) {
    const ratio = ((first[1] - k + 1) * (have - k + 1)) / (k * (second[1] - have + k));
    logs[k - least] = logs[k - least - 1]! + Math.log(ratio);
  }
  const largest = Math.max(...logs);
  const own = Math.exp(logs[first[0] - least]! - largest);
  let all = 0;
  let asFar = 0;
  for (const log of logs) {
    const weight = Math.exp(log - largest);
    all += weight;
    if (weight <= own * tie) asFar += weight;
  }
  return Math.min(1, asFar / all);
}
