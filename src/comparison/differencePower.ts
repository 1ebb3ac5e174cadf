import { NotFiniteError } from "../foundation/errors.ts";
import { noncentralTCdf } from "../numeric/noncentralTCdf.ts";
import { requireProbability } from "../numeric/requireProbability.ts";
import { criticalValue } from "./criticalValue.ts";
import { type Pair, plannedError } from "./plannedError.ts";

/**
 * Power of Welch's test: how often it calls a true difference significant.
 *
 *   P(|T| > t(1 - level/2, df)),   T noncentral t with df and noncentrality difference / se; se and df of `plannedError`
 *
 * Both tails count, also the one on the wrong side (R: `power.t.test(strict = TRUE)`). Exact for the pooled t test at equal
 * runs and spreads. Welch's test estimates its degrees of freedom and so has fewer: with few runs it reaches less than
 * this, which `welchPower` counts.
 *
 * @param difference        true difference of the means, the unit of the values; its sign does not matter
 * @param options.runs      per configuration, above 1; need not be whole
 * @param options.sd        true standard deviation between runs, the unit of the values
 * @param options.level     probability of a false alarm; default 0.05
 * @param options.oneSided  only a difference in the true direction counts, at the whole level; default false
 * @returns 0 to 1
 * @throws NotFiniteError     the difference is NaN or infinite
 * @throws CounterpoiseError  code `not-a-probability`; code `too-few-planned-runs`; code `no-planned-spread`
 * @source D. B. Owen, J. Am. Stat. Assoc. 60 (1965) 320-333 (power of the t test); Satterthwaite as in `plannedError`
 * @example differencePower(1, { runs: 20, sd: 1 }) // => 0.8689530 (R's example of power.t.test, strict; 0.8689528 without the wrong side)
 */
export function differencePower(
  difference: number,
  options: { runs: Pair; sd: Pair; level?: number; oneSided?: boolean },
): number {
  const { runs, sd, level = 0.05, oneSided = false } = options;
  if (!Number.isFinite(difference)) throw new NotFiniteError("differencePower", 0, difference);
  requireProbability("differencePower", level);
  const { standardError, degreesOfFreedom } = plannedError(runs, sd);
  const noncentrality = Math.abs(difference) / standardError;
  // a ratio beyond all numbers: the difference cannot be missed
  if (noncentrality === Number.POSITIVE_INFINITY) return level > 0 ? 1 : 0;
  const critical = criticalValue(oneSided ? level : level / 2, degreesOfFreedom);
  const right = noncentralTCdf(-critical, degreesOfFreedom, -noncentrality);
  // at most normalCdf(-noncentrality): nothing in sixteen digits beyond 9
  if (oneSided || noncentrality > 9) return right;
  return Math.min(1, right + noncentralTCdf(-critical, degreesOfFreedom, noncentrality));
}
