import { CounterpoiseError } from "../foundation/errors.ts";

/** Both configurations alike, or baseline and candidate. */
export type Pair = number | readonly [baseline: number, candidate: number];

/** Baseline and candidate, each on its own. */
export function both(pair: Pair): readonly [baseline: number, candidate: number] {
  return typeof pair === "number" ? [pair, pair] : pair;
}

/**
 * Standard error of a difference of two means before a run is flown, with Satterthwaite's degrees of freedom, both from the
 * true spreads. Equal runs and spreads give 2 (runs - 1).
 *
 *   se^2 = s0^2/n0 + s1^2/n1,   df = se^4 / ( (s0^2/n0)^2/(n0-1) + (s1^2/n1)^2/(n1-1) )
 *
 * @param runs  per configuration, above 1; need not be whole
 * @param sd    standard deviation between runs, the unit of the values, 0 or more, not both 0
 * @returns the standard error in the unit of the values
 * @throws CounterpoiseError  code `too-few-planned-runs`; code `no-planned-spread`
 * @source B. L. Welch, Biometrika 34 (1947) 28-35; F. E. Satterthwaite, Biometrics Bull. 2 (1946) 110-114
 * @example plannedError(20, 1) // => { standardError: 0.316227766016838, degreesOfFreedom: 38 }
 */
export function plannedError(runs: Pair, sd: Pair): { standardError: number; degreesOfFreedom: number } {
  const [n0, n1] = both(runs);
  const [s0, s1] = both(sd);
  if (!(s0 >= 0 && s1 >= 0 && s0 + s1 > 0 && Number.isFinite(s0 + s1))) {
    throw new CounterpoiseError(
      "no-planned-spread",
      `plannedError requires standard deviations of 0 or more, not both 0, found ${s0} and ${s1}`,
    );
  }
  if (!(n0 > 1 && n1 > 1 && Number.isFinite(n0) && Number.isFinite(n1))) {
    throw new CounterpoiseError(
      "too-few-planned-runs",
      `plannedError requires more than 1 run per configuration, found ${n0} and ${n1}`,
    );
  }
  // shares of the variance, so that the square of a square neither overflows nor vanishes
  const largest = Math.max(s0, s1);
  const v0 = (s0 / largest) ** 2 / n0;
  const v1 = (s1 / largest) ** 2 / n1;
  const variance = v0 + v1;
  return {
    standardError: largest * Math.sqrt(variance),
    degreesOfFreedom: (variance * variance) / ((v0 * v0) / (n0 - 1) + (v1 * v1) / (n1 - 1)),
  };
}
