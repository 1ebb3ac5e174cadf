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
