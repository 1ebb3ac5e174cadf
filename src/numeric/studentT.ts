import { NotFiniteError } from "../foundation/errors.ts";
import { chiAverage, gammaHalfRatio, reach } from "./chiScale.ts";
import { incompleteBetaFraction } from "./fUpperTail.ts";
import { normalCdf, normalQuantile } from "./normal.ts";
import { requireDegreesOfFreedom, requireProbability } from "./requireArguments.ts";

/**
 * Cumulative distribution of Student's t, thirteen digits up to 1e4 degrees of freedom (ten at 1e7), also of a small lower tail.
 *
 * Not by jstat: its `studentt.cdf` holds 7 to 8 digits (its continued fraction stops early), and p values of a family
 * are compared with one another.
 *
 * @param t                 any number; infinite is allowed
 * @param degreesOfFreedom  above 0, need not be whole
 * @returns 0 to 1
 * @throws NotFiniteError     t is NaN
 * @throws CounterpoiseError  code `not-degrees-of-freedom`
 * @source M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions (1964), 26.7.1
 * @example studentTCdf(0, 5) // => 0.5
 */
export function studentTCdf(t: number, degreesOfFreedom: number): number {
  requireDegreesOfFreedom("studentTCdf", degreesOfFreedom);
  if (Number.isNaN(t)) throw new NotFiniteError("studentTCdf", 0, t);
  const { middle, tail } = studentTHalves(Math.abs(t), degreesOfFreedom);
  return t < 0 ? tail : 0.5 + middle;
}

/** P(0 < T < t) and P(T > t) for t >= 0; they add up to one half. Whichever is smaller has all its digits. */
function studentTHalves(t: number, degreesOfFreedom: number): { middle: number; tail: number } {
  if (t === Number.POSITIVE_INFINITY) return { middle: 0.5, tail: 0 };
  const a = degreesOfFreedom / 2;
  const inside = (t * t) / (degreesOfFreedom + t * t);
  // I_inside(1/2, a) in the middle, I_(1 - inside)(a, 1/2) in the tail: common front, each fraction where it converges
  const front =
    (gammaHalfRatio(a) / Math.sqrt(Math.PI)) *
    (t / Math.sqrt(degreesOfFreedom + t * t)) *
    Math.exp(-a * Math.log1p((t * t) / degreesOfFreedom));
  if (inside < 1.5 / (a + 2.5)) {
    const middle = front * incompleteBetaFraction(inside, 0.5, a);
    return { middle, tail: 0.5 - middle };
  }
  const tail =
    (front / degreesOfFreedom) * incompleteBetaFraction(degreesOfFreedom / (degreesOfFreedom + t * t), a, 0.5);
  return { middle: 0.5 - tail, tail };
}

/** Density of Student's t. */
function studentTDensity(t: number, degreesOfFreedom: number): number {
  const shape = Math.exp((-(degreesOfFreedom + 1) / 2) * Math.log1p((t * t) / degreesOfFreedom));
  return (gammaHalfRatio(degreesOfFreedom / 2) / Math.sqrt(Math.PI * degreesOfFreedom)) * shape;
}

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

/**
 * Cumulative distribution of the noncentral t, (Z + noncentrality) / s with Z standard normal and s the estimated over the
 * true spread: P(T < t) = average over s of normalCdf(t s - noncentrality). To 1e-12, checked against R for 1 to 1e5
 * degrees of freedom and noncentralities to 37.
 *
 * The upper tail, as exactly: noncentralTCdf(-t, degreesOfFreedom, -noncentrality).
 *
 * Not by jstat (8 to 9 digits; zero for t = 40.1, 1e4, 37) nor by lib-r-math.js (8 digits at 1.5, 4, -1; at 40.1, 1e4, 37
 * it fails as R's own pt does, which gives an upper tail of 1e-12 where 0.0014 is right).
 *
 * @param t                 any number; infinite is allowed
 * @param degreesOfFreedom  above 0, need not be whole
 * @param noncentrality     any finite number
 * @returns 0 to 1
 * @throws NotFiniteError     t is NaN, or the noncentrality is not finite
 * @throws CounterpoiseError  code `not-degrees-of-freedom`
 * @source N. L. Johnson, B. L. Welch, Biometrika 31 (1940) 362-389; D. B. Owen, Technometrics 10 (1968) 445-478
 * @example noncentralTCdf(2.024394, 38, 3.162278) // => 0.131047093200013
 */
export function noncentralTCdf(t: number, degreesOfFreedom: number, noncentrality: number): number {
  requireDegreesOfFreedom("noncentralTCdf", degreesOfFreedom);
  if (Number.isNaN(t)) throw new NotFiniteError("noncentralTCdf", 0, t);
  if (!Number.isFinite(noncentrality)) throw new NotFiniteError("noncentralTCdf", 2, noncentrality);
  if (t === 0) return normalCdf(-noncentrality);
  if (!Number.isFinite(t)) return t < 0 ? 0 : 1;
  // normalCdf only turns where t s passes the noncentrality, and t s never goes far beyond what s can reach
  const largest = Math.abs(t) * Math.exp(reach(40 / degreesOfFreedom)[1]);
  const detail = Math.min(largest, Math.abs(noncentrality));
  const found = chiAverage(degreesOfFreedom, (s) => normalCdf(t * s - noncentrality), { detail });
  return Math.min(1, found);
}
