import { NotFiniteError } from "../foundation/errors.ts";
import { chiAverage, reach } from "./chiAverage.ts";
import { normalCdf } from "./normalCdf.ts";
import { requireDegreesOfFreedom } from "./requireDegreesOfFreedom.ts";

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
