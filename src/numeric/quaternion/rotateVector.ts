import type { Quaternion, Vector3 } from "../../foundation/units.ts";

/**
 * A vector of the body in the parent's coordinates.
 *
 * @param q  x y z w, unit norm, body to parent
 * @param v  in the body frame, any unit
 * @returns in the parent frame, same unit
 * @example rotateVector([0, 0, Math.SQRT1_2, Math.SQRT1_2], [1, 0, 0]) // => 0, 1, 0 to rounding
 */
export function rotateVector(q: Quaternion, v: Vector3): Vector3 {
  const [x, y, z, w] = q;
  const [a, b, c] = v;
  const tx = 2 * (y * c - z * b);
  const ty = 2 * (z * a - x * c);
  const tz = 2 * (x * b - y * a);
  return [a + w * tx + y * tz - z * ty, b + w * ty + z * tx - x * tz, c + w * tz + x * ty - y * tx];
}
