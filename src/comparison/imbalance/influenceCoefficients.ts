import { CounterpoiseError } from "../../foundation/errors.ts";
import { requireFinite } from "../../numeric/requireFinite.ts";
import { requireSameLength } from "../../numeric/requireSameLength.ts";
import type { InfluenceColumn } from "./influenceColumn.ts";

/**
 * Influence coefficients of one trial weight: what one unit of it adds to the vibration at each place.
 *
 *   alpha = (vibration with the trial weight - vibration without) / trial weight
 *
 * @param without  vibration at n places, complex, any unit
 * @param withTrial  the same places, the same unit
 * @param trial    the weight: mass (or mass x distance) and, where it can be turned about, its angle, as a complex number
 * @returns n complex numbers, unit of the vibration per unit of the weight
 * @throws TooFewSamplesError  no place
 * @throws NotFiniteError      NaN or infinity
 * @throws CounterpoiseError   code `unequal-lengths`; code `no-trial-weight`: a weight of nought
 * @source J. Vaughan, Static and dynamic balancing, Bruel & Kjaer application note 17-227
 * @example influenceCoefficients(influenceColumn([1], [0]), influenceColumn([3], [0]), { re: 2, im: 0 }).re // => 1
 */
export function influenceCoefficients(
  without: InfluenceColumn,
  withTrial: InfluenceColumn,
  trial: { readonly re: number; readonly im: number },
): InfluenceColumn {
  const n = without.re.length;
  for (const column of [without.im, withTrial.re, withTrial.im])
    requireSameLength("influenceCoefficients", n, column.length);
  for (const column of [without.re, without.im, withTrial.re, withTrial.im])
    requireFinite("influenceCoefficients", column);
  requireFinite("influenceCoefficients", Float64Array.of(trial.re, trial.im));
  const size = trial.re ** 2 + trial.im ** 2;
  if (!(size > 0)) {
    throw new CounterpoiseError(
      "no-trial-weight",
      "influenceCoefficients found a trial weight of 0, expected another",
      {
        hint: "give the two settings that differ",
      },
    );
  }
  const re = withTrial.re.map((value, i) => value - without.re[i]!);
  const im = withTrial.im.map((value, i) => value - without.im[i]!);
  return {
    re: re.map((value, i) => (value * trial.re + im[i]! * trial.im) / size),
    im: im.map((value, i) => (value * trial.re - re[i]! * trial.im) / size),
  };
}
