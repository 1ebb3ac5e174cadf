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
