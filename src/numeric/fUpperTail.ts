import { NotFiniteError } from "../foundation/errors.ts";
import { scaledGamma } from "./chiSquared.ts";
import { requireDegreesOfFreedom } from "./requireArguments.ts";

/** smallest divisor Lentz's method lets stand, so that no step divides by zero */
const LEAST = 1e-300;

/**
 * The continued fraction of the incomplete beta function, run until it no longer changes:
 *
 *   I_x(a, b) = x^a (1 - x)^b / (a B(a, b)) * fraction
 *
 * Converges fast for x < (a + 1) / (a + b + 2), in about the root of the larger of a and b steps; beyond that use
 * I_x(a, b) = 1 - I_(1-x)(b, a). (jstat stops its own at 3e-7, which leaves its distributions with 7 to 8 digits.)
 *
 * @param x  0 to (a + 1) / (a + b + 2)
 * @param a  above 0
 * @param b  above 0
 * @source NIST Digital Library of Mathematical Functions, 8.17.22; W. J. Lentz, Appl. Opt. 15 (1976) 668-671
 * @example incompleteBetaFraction(0, 1, 1) // => 1
 */
export function incompleteBetaFraction(x: number, a: number, b: number): number {
  let fraction = 1;
  let numerator = 1;
  let denominator = 0;
  for (let step = 1; step < 100_000; step++) {
    const m = step >> 1;
    const part =
      step % 2 === 0
        ? (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m))
        : (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1));
    denominator = 1 / away(1 + part * denominator);
    numerator = away(1 + part / numerator);
    const change = numerator * denominator;
    fraction *= change;
    if (Math.abs(change - 1) < 1e-16) break;
  }
  return 1 / fraction;
}

function away(value: number): number {
  return Math.abs(value) < LEAST ? LEAST : value;
}

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
