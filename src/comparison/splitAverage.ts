import { both, type Pair, plannedError } from "./plannedError.ts";

/** Points of the average over how the spread is split; 12 give five digits down to 4 runs, 24 down to 3. */
const POINTS = 24;

/** With more degrees of freedom than this the planned ones are right to 2e-3 of the power, and cheaper. */
const MANY = 60;

/**
 * Average of a power of Welch's test over the degrees of freedom it will have, which are estimated from the runs.
 *
 * Given b, the baseline's share of the sum of both chi-squared variables (beta distributed, with half their degrees of freedom
 * f0 and f1, and independent of the sum), standard error and degrees of freedom are fixed parts of the sum:
 *
 *   average over b of power(df(b), sqrt((f0 + f1) g(b)) / se),   g = b s0^2/(f0 n0) + (1 - b) s1^2/(f1 n1)
 *
 * @param power  of the test whose critical value is that of the first, times the second, in true standard errors, for an
 *               estimate of the spread with f0 + f1 degrees of freedom
 * @returns null where the planned degrees of freedom serve: many runs, fewer than three of either, or one spread of 0
 * @source B. L. Welch, Biometrika 34 (1947) 28-35 (the test); the average is elementary
 */
export function splitAverage(
  runs: Pair,
  sd: Pair,
  power: (degreesOfFreedom: number, scale: number, total: number) => number,
): number | null {
  const [n0, n1] = both(runs);
  const [s0, s1] = both(sd);
  const [f0, f1] = [n0 - 1, n1 - 1];
  const total = f0 + f1;
  // the split of the spread has no peak below 2 degrees of freedom of either
  if (!(total <= MANY && f0 >= 2 && f1 >= 2 && s0 > 0 && s1 > 0)) return null;
  const { standardError } = plannedError(runs, sd);
  // b = sin^2 of an angle: its density is sin^(f0 - 1) cos^(f1 - 1), smooth and 0 at both ends
  const peak = Math.atan2(Math.sqrt(f0 - 1), Math.sqrt(f1 - 1));
  const reach = 6 / Math.sqrt(2 * total);
  const from = Math.max(0, peak - reach);
  const step = (Math.min(Math.PI / 2, peak + reach) - from) / POINTS;
  let sum = 0;
  let whole = 0;
  for (let k = 0; k < POINTS; k++) {
    const angle = from + (k + 0.5) * step;
    const weight = Math.sin(angle) ** (f0 - 1) * Math.cos(angle) ** (f1 - 1);
    const v0 = (Math.sin(angle) * s0) ** 2 / (f0 * n0);
    const v1 = (Math.cos(angle) * s1) ** 2 / (f1 * n1);
    const degreesOfFreedom = (v0 + v1) ** 2 / (v0 ** 2 / f0 + v1 ** 2 / f1);
    sum += weight * power(degreesOfFreedom, Math.sqrt(total * (v0 + v1)) / standardError, total);
    whole += weight;
  }
  return Math.min(1, sum / whole);
}
