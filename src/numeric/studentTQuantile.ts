import { requireDegreesOfFreedom } from "./requireDegreesOfFreedom.ts";
import { requireProbability } from "./requireProbability.ts";
import { studentTDensity, studentTHalves } from "./studentTCdf.ts";

/**
 * Quantile of Student's t, thirteen digits: Newton steps on `studentTCdf`, kept inside a bracket.
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
  let low = 0;
  let high = 1;
  while (studentTHalves(high, degreesOfFreedom).tail > outside) {
    low = high;
    high *= 2;
  }
  let t = 0.5 * (low + high);
  for (let step = 0; step < 100; step++) {
    const { middle, tail } = studentTHalves(t, degreesOfFreedom);
    // P(T > t) falls as t grows: too much outside means t too small. Whichever half is small is known to more digits.
    const missing = outside < 0.25 ? tail - outside : 0.5 - outside - middle;
    if (missing > 0) low = t;
    else high = t;
    const newton = t + missing / studentTDensity(t, degreesOfFreedom);
    const next = newton > low && newton < high ? newton : 0.5 * (low + high);
    const change = Math.abs(next - t);
    t = next;
    if (change <= 1e-15 * t) break;
  }
  return probability < 0.5 ? -t : t;
}
