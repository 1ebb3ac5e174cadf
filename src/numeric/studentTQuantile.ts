import jStat from "jstat";
import { requireDegreesOfFreedom } from "./requireDegreesOfFreedom.ts";
import { requireProbability } from "./requireProbability.ts";
import { studentTDensity, studentTHalves } from "./studentTCdf.ts";

/**
 * Quantile of Student's t, thirteen digits: jstat's `inv` (7 to 8 digits) refined by Newton steps on `studentTCdf`.
 *
 * @param probability       0 to 1; the ends give infinity
 * @param degreesOfFreedom  above 0, need not be whole
 * @throws CounterpoiseError  code `not-a-probability`; code `not-degrees-of-freedom`
 * @example studentTQuantile(0.975, 1) // => 12.706204736174707 to rounding
 */
export function studentTQuantile(probability: number, degreesOfFreedom: number): number {
  requireProbability("studentTQuantile", probability);
  requireDegreesOfFreedom("studentTQuantile", degreesOfFreedom);
  const outside = Math.min(probability, 1 - probability);
  if (outside === 0) return probability === 0 ? Number.NEGATIVE_INFINITY : Number.POSITIVE_INFINITY;
  if (outside === 0.5) return 0;
  let t = Math.abs(jStat.studentt.inv(outside, degreesOfFreedom));
  for (let step = 0; step < 8; step++) {
    const { middle, tail } = studentTHalves(t, degreesOfFreedom);
    // P(T > t) falls as t grows: too much outside means t too small. Whichever half is small is known to more digits.
    const missing = outside < 0.25 ? tail - outside : 0.5 - outside - middle;
    const change = missing / studentTDensity(t, degreesOfFreedom);
    if (!Number.isFinite(change)) break;
    t = Math.max(t + change, t / 4);
    if (Math.abs(change) < 1e-15 * t) break;
  }
  return probability < 0.5 ? -t : t;
}
