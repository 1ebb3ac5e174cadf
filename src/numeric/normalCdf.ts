import { NotFiniteError } from "../foundation/errors.ts";

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
export function normalHalves(z: number): { middle: number; tail: number } {
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
export function normalDensity(z: number): number {
  // z^2 is rounded, and its exponential shows that: the part that a short z leaves over comes afterwards
  const short = Math.trunc(z * 16) / 16;
  return (Math.exp(-0.5 * short * short) * Math.exp(-0.5 * (z - short) * (z + short))) / Math.sqrt(2 * Math.PI);
}
