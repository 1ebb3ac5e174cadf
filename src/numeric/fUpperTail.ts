import { NotFiniteError } from "../foundation/errors.ts";
import { incompleteBetaFraction } from "./incompleteBetaFraction.ts";
import { requireDegreesOfFreedom } from "./requireDegreesOfFreedom.ts";
import { scaledGamma } from "./scaledGamma.ts";

/**
 * Probability that Fisher's F exceeds a value, for degrees of freedom that need not be whole.
 *
 *   P(F > f) = I_x(d2/2, d1/2),   x = d2/(d2 + d1 f)
 *
 * Thirteen digits in the tail; beyond the middle it is one minus the lower tail.
 *
 * @param f   any number, infinite allowed; 1 is given for f <= 0
 * @param d1  degrees of freedom of the numerator, above 0
 * @param d2  of the denominator, above 0
 * @throws NotFiniteError     f is NaN
 * @throws CounterpoiseError  code `not-degrees-of-freedom`
 * @source M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions (1964), 26.6.2
 * @example fUpperTail(1, 1, 1) // => 0.5
 */
export function fUpperTail(f: number, d1: number, d2: number): number {
  requireDegreesOfFreedom("fUpperTail", d1);
  requireDegreesOfFreedom("fUpperTail", d2);
  if (Number.isNaN(f)) throw new NotFiniteError("fUpperTail", 0, f);
  if (f <= 0) return 1;
  if (f === Number.POSITIVE_INFINITY) return 0;
  const [a, b] = [d2 / 2, d1 / 2];
  const ratio = (d1 * f) / d2;
  const x = 1 / (1 + ratio);
  const y = ratio / (1 + ratio);
  // x^a y^b/B(a, b), with what grows in the gamma functions cancelled
  const scale = Math.sqrt((a * b) / (2 * Math.PI * (a + b))) * (scaledGamma(a + b) / (scaledGamma(a) * scaledGamma(b)));
  const powers = a * Math.log((x * (a + b)) / a) + b * Math.log((y * (a + b)) / b);
  const front = scale * Math.exp(powers);
  if (x < (a + 1) / (a + b + 2)) return (front / a) * incompleteBetaFraction(x, a, b);
  return 1 - (front / b) * incompleteBetaFraction(y, b, a);
}
