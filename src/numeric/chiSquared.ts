import { normalQuantile } from "./normal.ts";
import { requireDegreesOfFreedom, requireProbability } from "./requireArguments.ts";

/** from here on the terms of the series left out are below 3e-16 */
const FAR = 16;

/**
 * The gamma function without what grows in it, to the last digit or two:
 *
 *   Gamma(a) = sqrt(2 pi / a) (a / e)^a scaledGamma(a)
 *
 * Falls to 1 as a grows. In a ratio such as x^a e^-x / Gamma(a) the large powers then cancel on paper, not in rounding.
 *
 * @param a  above 0
 * @source Stirling's series, NIST Digital Library of Mathematical Functions, 5.11.1; Gamma(a + 1) = a Gamma(a) below a = 16
 * @example scaledGamma(1) // => 1.084437551419228 (e over the root of 2 pi)
 */
export function scaledGamma(a: number): number {
  let far = a;
  let product = 1;
  for (; far < FAR; far++) product *= far;
  const r = 1 / far;
  const s = r * r;
  const series = r * (1 / 12 - s * (1 / 360 - s * (1 / 1260 - s * (1 / 1680 - s * (1 / 1188)))));
  if (far === a) return Math.exp(series);
  // Gamma(far) / (a (a + 1) ... (far - 1)), over sqrt(2 pi / a) (a / e)^a
  const power = far * Math.log(far) - a * Math.log(a) - (far - a);
  return (Math.sqrt(a / far) * Math.exp(power + series)) / product;
}

/**
 * Both tails of the chi-squared distribution, twelve digits; whichever tail is smaller has all of them.
 *
 * @param x                 >= 0, infinite is allowed
 * @param degreesOfFreedom  above 0, need not be whole
 * @returns P(X < x), P(X > x) and the density times x
 * @source the incomplete gamma function P(degreesOfFreedom / 2, x / 2): NIST Digital Library of Mathematical Functions,
 *         8.11.4 (series) and 8.9.2 (continued fraction)
 * @example chiSquaredTails(2 * Math.LN2, 2).lower // => 0.5
 */
export function chiSquaredTails(x: number, degreesOfFreedom: number): { lower: number; upper: number; front: number } {
  if (x === 0) return { lower: 0, upper: 1, front: 0 };
  if (x === Number.POSITIVE_INFINITY) return { lower: 1, upper: 0, front: 0 };
  const a = degreesOfFreedom / 2;
  const y = x / 2;
  // y^a e^-y / Gamma(a)
  const front = (Math.sqrt(a / (2 * Math.PI)) / scaledGamma(a)) * Math.exp(-a * excess(y / a));
  if (y < a + 1) {
    let term = 1 / a;
    let sum = term;
    for (let k = 1; term > 1e-17 * sum; k++) {
      term *= y / (a + k);
      sum += term;
    }
    const lower = front * sum;
    return { lower, upper: 1 - lower, front };
  }
  const upper = front / fraction(a, y);
  return { lower: 1 - upper, upper, front };
}

/** ratio - 1 - ln(ratio), the digits kept where the ratio is near 1. */
function excess(ratio: number): number {
  const r = ratio - 1;
  if (Math.abs(r) > 0.1) return r - Math.log(ratio);
  // ln(1 + r) = 2 (q + q^3 / 3 + q^5 / 5 + ...) with q = r / (2 + r), and r - 2 q = r q
  const q = r / (2 + r);
  const square = q * q;
  let power = 2 * q * square;
  let sum = 0;
  for (let odd = 3; odd < 19; odd += 2) {
    sum += power / odd;
    power *= square;
  }
  return r * q - sum;
}

/** y + 1 - a - 1 (1 - a) / (y + 3 - a - 2 (2 - a) / (y + 5 - a - ...)), by Lentz's method; y >= a + 1 keeps all parts positive. */
function fraction(a: number, y: number): number {
  let value = y + 1 - a;
  let numerator = value;
  let denominator = 0;
  for (let k = 1; k < 100_000; k++) {
    const part = -k * (k - a);
    const next = y + 2 * k + 1 - a;
    denominator = 1 / (next + part * denominator);
    numerator = next + part / numerator;
    const change = numerator * denominator;
    value *= change;
    if (Math.abs(change - 1) < 2e-16) break;
  }
  return value;
}

/**
 * Quantile of the chi-squared distribution, twelve digits: Newton steps on the logarithms of x and of the smaller tail.
 *
 * @param probability       0 to 1; the ends give 0 and infinity
 * @param degreesOfFreedom  above 0, need not be whole
 * @returns 0 or more; 0 also where the quantile is below the smallest number
 * @throws CounterpoiseError  code `not-a-probability`; code `not-degrees-of-freedom`
 * @source start by E. B. Wilson, M. M. Hilferty, Proc. Natl. Acad. Sci. 17 (1931) 684-688
 * @example chiSquaredQuantile(0.5, 2) // => 1.3862943611198906 (2 ln 2)
 */
export function chiSquaredQuantile(probability: number, degreesOfFreedom: number): number {
  requireProbability("chiSquaredQuantile", probability);
  requireDegreesOfFreedom("chiSquaredQuantile", degreesOfFreedom);
  if (probability === 0) return 0;
  if (probability === 1) return Number.POSITIVE_INFINITY;
  const fromBelow = probability < 0.5;
  const wanted = Math.log(fromBelow ? probability : 1 - probability);
  // the logarithm of either tail is concave in ln x: Newton's steps come from one side, or land on it at once
  let logarithm = start(probability, degreesOfFreedom);
  for (let step = 0; step < 200; step++) {
    const { lower, upper, front } = chiSquaredTails(Math.exp(logarithm), degreesOfFreedom);
    const tail = fromBelow ? lower : upper;
    if (tail === 0 || front === 0) {
      // beyond the range of doubles: halfway back to the middle, or a quantile that is no more than 0
      if (fromBelow && logarithm < -700) return 0;
      logarithm = 0.5 * (logarithm + Math.log(degreesOfFreedom));
      continue;
    }
    const change = ((Math.log(tail) - wanted) * tail) / front;
    const bounded = Math.max(-5, Math.min(5, fromBelow ? -change : change));
    logarithm += bounded;
    if (Math.abs(bounded) <= 1e-14) break;
  }
  return Math.exp(logarithm);
}

/** ln x to begin with: Wilson and Hilferty's cube, or the first term of the series where that falls below 0. */
function start(probability: number, degreesOfFreedom: number): number {
  const share = 2 / (9 * degreesOfFreedom);
  const root = 1 - share + normalQuantile(probability) * Math.sqrt(share);
  if (root > 0.2) return Math.log(degreesOfFreedom) + 3 * Math.log(root);
  const a = degreesOfFreedom / 2;
  // P = y^a / Gamma(a + 1) for small y
  const logGamma = Math.log(scaledGamma(a)) + 0.5 * Math.log(2 * Math.PI * a) + a * (Math.log(a) - 1);
  return Math.LN2 + (Math.log(probability) + logGamma) / a;
}
