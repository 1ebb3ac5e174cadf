import { scaledGamma } from "./scaledGamma.ts";

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
