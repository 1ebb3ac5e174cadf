import { difference } from "../numeric/sortedColumns.ts";

/** Exponent a of a spectral density f^a, a whole number from -4 to 2. */
export type NoiseSlope = number;

/** Fewer means than this do not tell one kind of noise from another. */
const leastMeans = 30;

/**
 * Kind of noise about an averaging time, from the lag-one autocorrelation r of neighbouring means: for differenced
 * power-law noise r / (1 + r) is -a / 2 where that is below 1/4; else the means are differenced and 2 is taken off a.
 * An r within two standard errors of zero is white: few means must not pass for the blue noise that knows more. What
 * had to be differenced twice is steeper than a random walk, though a little white noise in it looks blue by then.
 *
 * @param sums  running sums of the readings, n + 1 numbers
 * @param m     readings per mean
 * @returns a from -4 to 2; null where there are too few means, or all are alike
 * @source W. J. Riley, C. A. Greenhall, 18th European Frequency and Time Forum (2004); NIST SP 1065 (2008), sec. 5
 */
export function noiseSlope(sums: Float64Array, m: number): NoiseSlope | null {
  const count = Math.floor((sums.length - 1) / m);
  if (count < leastMeans) return null;
  let means: Float64Array = new Float64Array(count);
  for (let i = 0; i < count; i++) means[i] = (sums[(i + 1) * m]! - sums[i * m]!) / m;
  for (let differences = 0; ; differences++) {
    const r = lagOne(means);
    if (r === null) return null;
    const share = r / (1 + r);
    if (share < 0.25 || differences === 2) {
      const slope = 0 - Math.round(2 * share) - 2 * differences;
      const bluest = differences === 2 ? -3 : differences === 0 && r > -2 / Math.sqrt(count) ? 0 : 2;
      return Math.max(-4, Math.min(bluest, slope));
    }
    means = difference(means.subarray(1), means);
  }
}

function lagOne(values: Float64Array): number | null {
  const n = values.length;
  let sum = 0;
  for (let i = 0; i < n; i++) sum += values[i]!;
  const mean = sum / n;
  let squares = 0;
  let products = 0;
  for (let i = 0; i < n; i++) {
    const off = values[i]! - mean;
    squares += off * off;
    if (i > 0) products += off * (values[i - 1]! - mean);
  }
  return squares > 0 ? products / squares : null;
}

/**
 * Equivalent degrees of freedom of the overlapping Allan variance.
 *
 * With N = n + 1 phase points:
 *
 *   a =  2  (N + 1)(N - 2m) / (2 (N - m))
 *   a =  1  exp sqrt( ln((N - 1) / 2m) ln((2m + 1)(N - 1) / 4) )
 *   a =  0  (3 (N - 1) / 2m - 2 (N - 2) / N) 4 m^2 / (4 m^2 + 5)
 *   a = -1  2 (N - 2)^2 / (2.3 N - 4.9) for m = 1, else 5 N^2 / (4 m (N + 3 m))
 *   a = -2  (N - 2) / m ((N - 1)^2 - 3 m (N - 1) + 4 m^2) / (N - 3)^2
 *
 * Steeper noise is taken as a = -2; the caller must allow for it.
 *
 * @param slope  a
 * @param n      readings in the stretch; 0 where it holds no two neighbouring means
 * @param m      readings per mean
 * @source W. J. Riley, NIST SP 1065 (2008), sec. 5; D. A. Howe, D. W. Allan, J. A. Barnes, 35th Frequency Control Symposium
 *   (1981). Formulas from memory of them; a = 2, 0 and -2 agree with exact covariances within 10 %, a = 0 with table 32
 */
export function allanFreedom(slope: NoiseSlope, n: number, m: number): number {
  if (2 * m > n) return 0;
  const N = n + 1;
  return Math.max(1, formula(slope, N, m));
}

function formula(slope: NoiseSlope, N: number, m: number): number {
  if (slope >= 2) return ((N + 1) * (N - 2 * m)) / (2 * (N - m));
  if (slope === 1) return Math.exp(Math.sqrt(Math.log((N - 1) / (2 * m)) * Math.log(((2 * m + 1) * (N - 1)) / 4)));
  if (slope === 0) return (((3 * (N - 1)) / (2 * m) - (2 * (N - 2)) / N) * 4 * m * m) / (4 * m * m + 5);
  if (slope === -1) return m === 1 ? (2 * (N - 2) ** 2) / (2.3 * N - 4.9) : (5 * N * N) / (4 * m * (N + 3 * m));
  if (N <= 4) return 1;
  return (((N - 2) / m) * ((N - 1) ** 2 - 3 * m * (N - 1) + 4 * m * m)) / (N - 3) ** 2;
}
