import { scaledGamma } from "./chiSquared.ts";
import { requireDegreesOfFreedom } from "./requireArguments.ts";

/** from here on the terms of the series left out are below 3e-16 */
const FAR = 16;

/**
 * Gamma(z + 1/2) / Gamma(z), to the last digit or two. Differences of logarithms of gamma lose digits as z grows;
 * the ratio itself is harmless.
 *
 * @param z  above 0
 * @source asymptotic series of ln Gamma(z + 1/2) - ln Gamma(z), from NIST Digital Library of Mathematical Functions, 5.11.8;
 *         the recurrence Gamma(z + 1) = z Gamma(z) below z = 16
 * @example gammaHalfRatio(1) // => 0.886226925452758 (half the root of pi)
 */
export function gammaHalfRatio(z: number): number {
  let factor = 1;
  let far = z;
  for (; far < FAR; far++) factor *= far / (far + 0.5);
  const r = 1 / far;
  const s = r * r;
  const series = r * (-1 / 8 + s * (1 / 192 + s * (-1 / 640 + s * (17 / 14336 - s * (31 / 18432)))));
  return factor * Math.sqrt(far) * Math.exp(series);
}

/** where the density has fallen by exp(-40) from its peak, nothing is left in sixteen digits */
const DEPTH = 40;

/**
 * Average of a function over what a spread estimated from runs may come out as:
 *
 *   integral over s from 0 to limit of weigh(s) f(s) ds,   s = estimated / true spread = sqrt(chi-squared / degreesOfFreedom)
 *
 * By the trapezoid rule in ln s, where the density falls off on both sides; equal steps then converge exponentially, to
 * about thirteen digits here. With a finite limit the steps are equal in ln(s / (limit - s)), which pushes the end at the
 * limit out to infinity.
 *
 * @param degreesOfFreedom  above 0, need not be whole
 * @param weigh             smooth; bounded by 1; falls to zero at the limit, if that is finite
 * @param options.detail    the largest z at which `weigh` holds a normalCdf(z - ...) with z proportional to s: steps are made
 *                          small enough for that; default 0
 * @param options.limit     upper end of s, above 0; default none
 * @throws CounterpoiseError  code `not-degrees-of-freedom`
 * @source L. N. Trefethen, J. A. C. Weideman, SIAM Rev. 56 (2014) 385-458, sections 5 (error of equal steps) and 14 (maps)
 * @example chiAverage(4, (s) => s * s) // => 1 (the mean of chi-squared is its degrees of freedom)
 */
export function chiAverage(
  degreesOfFreedom: number,
  weigh: (s: number) => number,
  options: { detail?: number; limit?: number } = {},
): number {
  requireDegreesOfFreedom("chiAverage", degreesOfFreedom);
  const { detail = 0, limit = Number.POSITIVE_INFINITY } = options;
  const [from, to] = reach(DEPTH / degreesOfFreedom);
  const end = Math.log(limit);
  if (!(end > from)) return 0;
  // sideways into the complex plane the density grows as exp(df y^2) and normalCdf as exp(detail^2 y^2 / 2); the 13 stands
  // for the quarter of pi at which the density ceases to fall to the right
  const step = 0.5 / Math.sqrt(degreesOfFreedom + 0.5 * detail * detail + 13);
  const a = degreesOfFreedom / 2;
  const front = (2 * step * Math.sqrt(a / (2 * Math.PI))) / scaledGamma(a);
  let sum = 0;
  if (end >= to) {
    for (let u = step * Math.ceil(from / step); u < to; u += step) {
      sum += Math.exp(degreesOfFreedom * fall(u)) * weigh(Math.exp(u));
    }
    return front * sum;
  }
  // s = limit / (1 + e^-v). At v = 20 both the weight and the step in s are below 2e-9, their product below 1e-17
  const first = from - end - Math.log1p(-Math.exp(from - end));
  for (let v = step * Math.ceil(first / step); v < 20; v += step) {
    const u = end - Math.log1p(Math.exp(-v));
    sum += (Math.exp(degreesOfFreedom * fall(u)) * weigh(Math.exp(u))) / (1 + Math.exp(v));
  }
  return front * sum;
}

/** ln s where the density of one degree of freedom has fallen by `depth` on either side of its peak at 0, or a little more. */
export function reach(depth: number): [number, number] {
  // left: x - (1 - e^-2x) / 2 = depth with x = -ln s, convex: Newton's steps from beyond stay beyond
  let left = Math.min(depth + 0.5, 2 * Math.sqrt(depth));
  // right: (e^2u - 1) / 2 - u = depth, at most the root of depth; each round comes nearer from beyond
  let right = Math.sqrt(depth);
  for (let round = 0; round < 4; round++) {
    const gone = -Math.expm1(-2 * left);
    left -= (left - 0.5 * gone - depth) / gone;
    right = 0.5 * Math.log1p(2 * depth + 2 * right);
  }
  return [-left, right];
}

/** u - (e^2u - 1) / 2, the digits kept where u is small. */
function fall(u: number): number {
  if (Math.abs(u) > 0.02) return u - 0.5 * Math.expm1(2 * u);
  let power = u * u;
  let sum = power;
  for (let k = 3; k < 10; k++) {
    power *= (2 * u) / k;
    sum += power;
  }
  return -sum;
}
