/** var(a), cov(a, b), var(b) */
export type Covariance = readonly [number, number, number];

export interface Ellipse {
  readonly major: number;
  readonly minor: number;
  /** of the major axis, radians anticlockwise from the first coordinate, -pi/2 to pi/2 */
  readonly angle: number;
}

/** 95 % of a bivariate normal lies within this squared distance: -2 ln 0.05, the chi-squared quantile with 2 degrees. */
export const chiSquaredTwo95 = -2 * Math.log(0.05);

/**
 * Half axes and direction of { v : v' C^-1 v = r^2 }, from the eigenvalues of the 2 x 2 covariance.
 *
 * @param covariance     square metres, not negative definite
 * @param squaredRadius  r^2, without unit
 * @returns half axes in metres
 */
export function confidenceEllipse([a, b, c]: Covariance, squaredRadius: number): Ellipse {
  const middle = (a + c) / 2;
  const half = Math.hypot((a - c) / 2, b);
  return {
    major: Math.sqrt(squaredRadius * Math.max(0, middle + half)),
    minor: Math.sqrt(squaredRadius * Math.max(0, middle - half)),
    angle: half === 0 ? 0 : 0.5 * Math.atan2(2 * b, a - c),
  };
}

/** Squared distance of a vector from zero in units of its covariance; infinite for a covariance without area. */
export function squaredDistance([u, v]: readonly [number, number], [a, b, c]: Covariance): number {
  const determinant = a * c - b * b;
  if (!(determinant > 0)) return u === 0 && v === 0 ? 0 : Number.POSITIVE_INFINITY;
  return (c * u * u - 2 * b * u * v + a * v * v) / determinant;
}

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

/** Points around a mean's region, and the mean itself; what is drawn of it, and how long its vectors are at least and at most. */
export function ellipsePoints({ mean, ellipse }: Pick<MeanRegion, "mean" | "ellipse">): (readonly [number, number])[] {
  if (ellipse === null) return [mean];
  const { major, minor, angle } = ellipse;
  return [
    mean,
    ...Array.from({ length: 120 }, (_, k) => {
      const turn = (2 * Math.PI * k) / 120;
      const [a, b] = [major * Math.cos(turn), minor * Math.sin(turn)];
      return [
        mean[0] + a * Math.cos(angle) - b * Math.sin(angle),
        mean[1] + a * Math.sin(angle) + b * Math.cos(angle),
      ] as const;
    }),
  ];
}
