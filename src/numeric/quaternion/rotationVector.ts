import type { Quaternion, Vector3 } from "../../foundation/units.ts";

/**
 * Axis times angle (the logarithm) of a rotation, the shortest way round; full precision for small angles.
 *
 * @param q  x y z w, unit norm; q and -q give the same (but for exact half turns, which have two)
 * @returns radians, length 0 to pi
 * @example rotationVector([0, 0, 1, 0]) // => 0, 0, 3.141592653589793
 */
export function rotationVector(q: Quaternion): Vector3 {
  const [x, y, z, w] = q;
  const half = Math.sqrt(x * x + y * y + z * z);
  // 2 atan2(half, |w|) / half goes to 2 for angles too small to be squared
  const scale = (half > 0 ? (2 * Math.atan2(half, Math.abs(w))) / half : 2) * (w < 0 ? -1 : 1);
  return [scale * x, scale * y, scale * z];
}
