import { type Covariance, confidenceEllipse, type Ellipse } from "./confidenceEllipse.ts";

/** the fewest vectors whose mean gets a region: with three it rests on one degree of freedom and spans the drawing */
export const leastVectors = 4;

/**
 * Quantile of Fisher's F with 2 and m degrees of freedom. With 2 in the numerator its upper tail is elementary,
 * P(F > f) = (1 + 2 f / m)^(-m / 2), hence
 *
 *   f = (m / 2) ((1 - p)^(-2 / m) - 1)
 *
 * @param probability  0 to below 1
 * @param degrees      m of the denominator, above 0
 * @example fisherTwoQuantile(0.95, 2) // => 19
 */
export function fisherTwoQuantile(probability: number, degrees: number): number {
  // expm1 keeps the digits where m is large and the power near 1
  return (degrees / 2) * Math.expm1((-2 / degrees) * Math.log1p(-probability));
}

export interface MeanRegion {
  readonly n: number;
  readonly mean: readonly [number, number];
  /** half axes in the unit of the vectors; null with fewer than `leastVectors` */
  readonly ellipse: Ellipse | null;
}

/**
 * Mean of n vectors in the plane and the 95 % confidence region of that mean, for vectors that scatter as a bivariate
 * normal of unknown covariance: covariance S / n (S with n - 1), squared radius 2 (n - 1) / (n - 2) F(0.95; 2, n - 2).
 *
 * @returns null without a vector
 * @source H. Hotelling, Ann. Math. Stat. 2 (1931) 360-378
 */
export function meanRegion(vectors: readonly (readonly [number, number])[]): MeanRegion | null {
  const n = vectors.length;
  if (n === 0) return null;
  const mean = [0, 1].map((part) => vectors.reduce((sum, vector) => sum + vector[part as 0 | 1], 0) / n) as [
    number,
    number,
  ];
  if (n < leastVectors) return { n, mean, ellipse: null };
  const about = (i: 0 | 1, j: 0 | 1): number =>
    vectors.reduce((sum, vector) => sum + (vector[i] - mean[i]) * (vector[j] - mean[j]), 0) / (n - 1) / n;
  const ofMean: Covariance = [about(0, 0), about(0, 1), about(1, 1)];
  const squaredRadius = ((2 * (n - 1)) / (n - 2)) * fisherTwoQuantile(0.95, n - 2);
  return { n, mean, ellipse: confidenceEllipse(ofMean, squaredRadius) };
}
