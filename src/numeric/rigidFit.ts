import { TooFewSamplesError } from "../foundation/errors.ts";
import type { Quaternion, Vector3 } from "../foundation/units.ts";
import { turnOfSums } from "./fourierSums.ts";

/** The turn and shift that carry one set of points onto another. */
export interface RigidFit {
  /** x y z w, unit norm, w >= 0: body to world */
  readonly rotation: Quaternion;
  readonly translation: Vector3;
  /** sum of squared distances that are left */
  readonly squares: number;
}

/**
 * Rotation and translation that carry the points of a body onto where they were measured, by least squares in closed form.
 *
 * The turn is that of the cross sums about the centroids (`turnOfSums`), never a mirrored one. Points on one line fix no rotation about it: not for them (see `areCollinear`).
 *
 * @param body      places in the body's own frame, one point after the other: x y z x y z ...
 * @param measured  the same points in the world, the same length
 * @throws TooFewSamplesError  fewer than three points
 * @throws NotFiniteError      NaN or infinity in a place
 * @source B. K. P. Horn, Closed-form solution of absolute orientation using unit quaternions, J. Opt. Soc. Am. A 4 (1987)
 *   629-642, section 4
 */
export function rigidFit(body: ArrayLike<number>, measured: ArrayLike<number>): RigidFit {
  const n = Math.floor(body.length / 3);
  if (n < 3) throw new TooFewSamplesError("rigidFit", 3, n);
  const a = centroid(body, n);
  const b = centroid(measured, n);
  let [xx, xy, xz, yx, yy, yz, zx, zy, zz] = [0, 0, 0, 0, 0, 0, 0, 0, 0];
  for (let i = 0; i < 3 * n; i += 3) {
    const px = body[i]! - a[0];
    const py = body[i + 1]! - a[1];
    const pz = body[i + 2]! - a[2];
    const qx = measured[i]! - b[0];
    const qy = measured[i + 1]! - b[1];
    const qz = measured[i + 2]! - b[2];
    xx += px * qx;
    xy += px * qy;
    xz += px * qz;
    yx += py * qx;
    yy += py * qy;
    yz += py * qz;
    zx += pz * qx;
    zy += pz * qy;
    zz += pz * qz;
  }
  const { rotation } = turnOfSums([xx, xy, xz, yx, yy, yz, zx, zy, zz]);
  const turned = turn(rotation, a);
  const translation: Vector3 = [b[0] - turned[0], b[1] - turned[1], b[2] - turned[2]];
  return { rotation, translation, squares: squaresLeft(body, measured, a, b, rotation) };
}

/** Sum of |q - R p|^2 about the centroids, distance by distance: as a difference of large sums it would lose what is small. */
function squaresLeft(
  body: ArrayLike<number>,
  measured: ArrayLike<number>,
  a: Vector3,
  b: Vector3,
  rotation: Quaternion,
): number {
  let squares = 0;
  for (let i = 0; i + 2 < body.length; i += 3) {
    const p = turn(rotation, [body[i]! - a[0], body[i + 1]! - a[1], body[i + 2]! - a[2]]);
    const dx = measured[i]! - b[0] - p[0];
    const dy = measured[i + 1]! - b[1] - p[1];
    const dz = measured[i + 2]! - b[2] - p[2];
    squares += dx * dx + dy * dy + dz * dz;
  }
  return squares;
}

/**
 * Whether points lie so nearly on one line that they fix no rotation about it: the triangle of largest area among them is
 * flatter than a hundredth of the square of their extent. What noise makes of points that pass, `turnAxes` tells.
 */
export function areCollinear(points: ArrayLike<number>): boolean {
  const n = Math.floor(points.length / 3);
  let extent = 0;
  let area = 0;
  for (let i = 0; i < n; i++)
    for (let j = i + 1; j < n; j++) {
      const u = difference(points, i, j);
      extent = Math.max(extent, Math.hypot(...u));
      for (let k = j + 1; k < n; k++) {
        const v = difference(points, i, k);
        const cross = Math.hypot(u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]);
        area = Math.max(area, cross);
      }
    }
  return !(area > 0.01 * extent * extent);
}

function difference(points: ArrayLike<number>, i: number, j: number): [number, number, number] {
  return [
    points[3 * j]! - points[3 * i]!,
    points[3 * j + 1]! - points[3 * i + 1]!,
    points[3 * j + 2]! - points[3 * i + 2]!,
  ];
}

function centroid(points: ArrayLike<number>, n: number): Vector3 {
  let [x, y, z] = [0, 0, 0];
  for (let i = 0; i < 3 * n; i += 3) {
    x += points[i]!;
    y += points[i + 1]!;
    z += points[i + 2]!;
  }
  return [x / n, y / n, z / n];
}

function turn([x, y, z, w]: Quaternion, [a, b, c]: Vector3): Vector3 {
  const tx = 2 * (y * c - z * b);
  const ty = 2 * (z * a - x * c);
  const tz = 2 * (x * b - y * a);
  return [a + w * tx + (y * tz - z * ty), b + w * ty + (z * tx - x * tz), c + w * tz + (x * ty - y * tx)];
}
