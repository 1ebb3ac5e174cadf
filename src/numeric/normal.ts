import { NotFiniteError } from "../foundation/errors.ts";
import { requireProbability } from "./requireArguments.ts";

/** up to here the power series, from here on the continued fraction: both are short and keep their digits */
const FAR = 2.5;

/**
 * Cumulative standard normal distribution, thirteen digits, also of a small lower tail.
 *
 * Not by simple-statistics: its `errorFunction` holds 7 digits, and nothing of a tail.
 *
 * @param z  any number; infinite is allowed
 * @returns 0 to 1
 * @throws NotFiniteError  z is NaN
 * @source M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions (1964), 26.2.11 (series) and 26.2.14 (fraction)
 * @example normalCdf(0) // => 0.5
 */
export function normalCdf(z: number): number {
  if (Number.isNaN(z)) throw new NotFiniteError("normalCdf", 0, z);
  const { middle, tail } = normalHalves(Math.abs(z));
  return z < 0 ? tail : 0.5 + middle;
}

/** P(0 < Z < z) and P(Z > z) for z >= 0; they add up to one half. Whichever is smaller has all its digits. */
function normalHalves(z: number): { middle: number; tail: number } {
  // less than the smallest number
  if (z > 39) return { middle: 0.5, tail: 0 };
  const density = normalDensity(z);
  if (z < FAR) {
    // density * (z + z^3 / 3 + z^5 / (3 5) + ...)
    const square = z * z;
    let term = z;
    let sum = z;
    for (let odd = 3; term > 1e-17 * sum; odd += 2) {
      term *= square / odd;
      sum += term;
    }
    const middle = density * sum;
    return { middle, tail: 0.5 - middle };
  }
  // density / (z + 1 / (z + 2 / (z + 3 / ...))), from the inside out: at 2.5, 100 levels leave 1e-16
  let fraction = z;
  for (let level = Math.ceil(12 + 560 / (z * z)); level > 0; level--) fraction = z + level / fraction;
  const tail = density / fraction;
  return { middle: 0.5 - tail, tail };
}

/** Density of the standard normal distribution. */
function normalDensity(z: number): number {
  // z^2 is rounded, and its exponential shows that: the part that a short z leaves over comes afterwards
  const short = Math.trunc(z * 16) / 16;
  return (Math.exp(-0.5 * short * short) * Math.exp(-0.5 * (z - short) * (z + short))) / Math.sqrt(2 * Math.PI);
}

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
