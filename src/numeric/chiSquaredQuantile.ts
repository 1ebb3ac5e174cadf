import { chiSquaredTails } from "./chiSquaredTails.ts";
import { normalQuantile } from "./normalQuantile.ts";
import { requireDegreesOfFreedom } from "./requireDegreesOfFreedom.ts";
import { requireProbability } from "./requireProbability.ts";
import { scaledGamma } from "./scaledGamma.ts";

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
      // beyond the numbers: halfway back to the middle, or no quantile above 0 to be had
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
