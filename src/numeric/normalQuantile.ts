import { normalDensity, normalHalves } from "./normalCdf.ts";
import { requireProbability } from "./requireProbability.ts";

/**
 * Quantile of the standard normal distribution, thirteen digits: Newton steps on `normalCdf`.
 *
 * @param probability  0 to 1; the ends give infinity
 * @throws CounterpoiseError  code `not-a-probability`
 * @example normalQuantile(0.975) // => 1.959963984540054
 */
export function normalQuantile(probability: number): number {
  requireProbability("normalQuantile", probability);
  const outside = Math.min(probability, 1 - probability);
  if (outside === 0) return probability === 0 ? Number.NEGATIVE_INFINITY : Number.POSITIVE_INFINITY;
  // P(Z > z) <= exp(-z^2 / 2) / 2: this z is too large, and ln P(Z > z) is concave, so Newton's steps stay on its right
  let z = Math.sqrt(-2 * Math.log(2 * outside));
  for (let step = 0; step < 60; step++) {
    const { middle, tail } = normalHalves(z);
    const density = normalDensity(z);
    // where the tail is large, the other half is known to more digits
    const change =
      outside < 0.25 ? (Math.log(tail / outside) * tail) / density : (0.5 - Math.min(outside, 0.5) - middle) / density;
    z += change;
    if (Math.abs(change) <= 1e-15 * Math.abs(z)) break;
  }
  return probability < 0.5 ? -z : z;
}
