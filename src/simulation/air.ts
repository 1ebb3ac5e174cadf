import type { Seconds } from "../foundation/units.ts";
import type { SeededRandom } from "../numeric/seededRandom.ts";

/**
 * A Gauss-Markov process of first order at a fixed step, stationary from its first value:
 * autocorrelation sd^2 exp(-|lag| / time).
 *
 * @param sd    standard deviation, in the unit of the result; 0 gives zeros and draws nothing
 * @param time  correlation time, seconds, > 0
 * @source A. Gelb (ed.), Applied Optimal Estimation (1974), 3.8
 */
export function gaussMarkov(
  random: SeededRandom,
  sd: number,
  time: Seconds,
  step: Seconds,
  count: number,
): Float64Array {
  const values = new Float64Array(count);
  if (sd === 0 || count === 0) return values;
  const keep = Math.exp(-step / time);
  const fresh = sd * Math.sqrt(1 - keep * keep);
  values[0] = sd * random.normal();
  for (let i = 1; i < count; i++) values[i] = keep * values[i - 1]! + fresh * random.normal();
  return values;
}
