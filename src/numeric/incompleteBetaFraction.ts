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
