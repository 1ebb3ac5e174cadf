import { NotFiniteError } from "../foundation/errors.ts";
import { gammaHalfRatio } from "./gammaHalfRatio.ts";
import { incompleteBetaFraction } from "./incompleteBetaFraction.ts";
import { requireDegreesOfFreedom } from "./requireDegreesOfFreedom.ts";

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
export function studentTHalves(t: number, degreesOfFreedom: number): { middle: number; tail: number } {
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
export function studentTDensity(t: number, degreesOfFreedom: number): number {
  const shape = Math.exp((-(degreesOfFreedom + 1) / 2) * Math.log1p((t * t) / degreesOfFreedom));
  return (gammaHalfRatio(degreesOfFreedom / 2) / Math.sqrt(Math.PI * degreesOfFreedom)) * shape;
}
