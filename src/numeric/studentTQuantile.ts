import { normalQuantile } from "./normalQuantile.ts";
import { requireDegreesOfFreedom } from "./requireDegreesOfFreedom.ts";
import { requireProbability } from "./requireProbability.ts";
import { studentTDensity, studentTHalves } from "./studentTCdf.ts";

/**
 * Quantile of Student's t, thirteen digits: Newton steps on `studentTCdf`, kept inside a bracket; beyond 1e5 degrees of
 * freedom, where the distribution's fraction loses digits, the expansion about the normal quantile (eleven digits for tails below 1e-100).
 *
 * @param probability       0 to 1; the ends give infinity
 * @param degreesOfFreedom  above 0, need not be whole
 * @source the expansion: M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions (1964), 26.7.5
 * @throws CounterpoiseError  code `not-a-probability`; code `not-degrees-of-freedom`
 * @example studentTQuantile(0.975, 1) // => 12.706204736174707 to rounding
 */
export function studentTQuantile(probability: number, degreesOfFreedom: number): number {
  requireProbability("studentTQuantile", probability);
  requireDegreesOfFreedom("studentTQuantile", degreesOfFreedom);
  const outside = Math.min(probability, 1 - probability);
  if (outside === 0) return probability === 0 ? Number.NEGATIVE_INFINITY : Number.POSITIVE_INFINITY;
  if (outside === 0.5) return 0;
  if (degreesOfFreedom > 1e5) return expansion(normalQuantile(probability), degreesOfFreedom);
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

/** The term left out is 79 z^9 / (92160 f^4): below 1e-15 of z up to 8 sd, 4e-11 at the smallest double's quantile. */
function expansion(z: number, freedom: number): number {
  const first = (z ** 3 + z) / 4;
  const second = (5 * z ** 5 + 16 * z ** 3 + 3 * z) / 96;
  const third = (3 * z ** 7 + 19 * z ** 5 + 17 * z ** 3 - 15 * z) / 384;
  return z + first / freedom + second / freedom ** 2 + third / freedom ** 3;
}
