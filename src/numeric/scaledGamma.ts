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
