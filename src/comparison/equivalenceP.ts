import { CounterpoiseError } from "../foundation/errors.ts";
import { studentTCdf } from "../numeric/studentTCdf.ts";
import type { DifferenceEstimate } from "./differenceEstimate.ts";

/**
 * Two one-sided tests: p of "the difference is at least as large as the smallest that matters". Below 0.05 the difference
 * is shown not to matter, which is the same as its 90 % interval lying inside +-margin.
 *
 *   p = max( P(T > (difference + margin)/se), P(T < (difference - margin)/se) )
 *
 * It errs in at most 5 of 100 cells *per cell*: that nothing matters on any axis needs every cell.
 *
 * @param margin  the smallest difference that matters, above 0, unit of the difference
 * @returns null where the runs show no spread
 * @throws CounterpoiseError  code `not-a-margin`: the margin is not above 0
 * @source D. J. Schuirmann, J. Pharmacokinet. Biopharm. 15 (1987) 657-680
 */
export function equivalenceP(estimate: DifferenceEstimate, margin: number): number | null {
  const { difference, standardError, degreesOfFreedom } = estimate;
  if (!(margin > 0)) {
    throw new CounterpoiseError("not-a-margin", `equivalenceP requires a margin above 0, found ${margin}`);
  }
  if (standardError === 0) return null;
  const above = studentTCdf(-(difference + margin) / standardError, degreesOfFreedom);
  const below = studentTCdf((difference - margin) / standardError, degreesOfFreedom);
  return Math.max(above, below);
}
