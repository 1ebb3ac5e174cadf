import { probit } from "simple-statistics";

/** Chance that a correct program fails one family of comparisons; seeds are fixed, so it does so always or never. */
const falseAlarm = 1e-3;

/** Two-sided limit on a standard normal deviate where `tests` of them are looked at together (Bonferroni). */
export function normalLimit(tests = 1): number {
  return probit(1 - falseAlarm / (2 * tests));
}

/** How far the mean of n values of standard deviation `sd` may lie from what it estimates. */
export function meanLimit(n: number, sd: number, tests = 1): number {
  return (normalLimit(tests) * sd) / Math.sqrt(n);
}

/**
 * Factors between which a sample's standard deviation may lie about the true one, n normal values.
 *
 * @source chi-square quantiles by E. B. Wilson, M. M. Hilferty, Proc. Natl. Acad. Sci. 17 (1931) 684-688; good to 1e-3 from n = 20
 */
export function deviationLimits(n: number, tests = 1): readonly [number, number] {
  const nu = n - 1;
  const at = (z: number): number => Math.sqrt((1 - 2 / (9 * nu) + z * Math.sqrt(2 / (9 * nu))) ** 3);
  return [at(-normalLimit(tests)), at(normalLimit(tests))];
}

/** How far a share of n independent trials may lie from the true share p. */
export function shareLimit(n: number, p: number, tests = 1): number {
  return normalLimit(tests) * Math.sqrt((p * (1 - p)) / n);
}

/** Mean and standard deviation (n - 1), plainly. */
export function meanAndSd(values: readonly number[]): { mean: number; sd: number } {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  const squares = values.reduce((sum, value) => sum + (value - mean) ** 2, 0);
  return { mean, sd: Math.sqrt(squares / (values.length - 1)) };
}
