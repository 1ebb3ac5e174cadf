import type { Quaternion } from "../../foundation/units.ts";

/**
 * The inverse rotation of a unit quaternion.
 *
 * @param q  x y z w, unit norm
 * @example conjugateQuaternion([0.6, 0, 0, 0.8]) // => -0.6, -0, -0, 0.8
 */
export function conjugateQuaternion(q: Quaternion): Quaternion {
  return [-q[0], -q[1], -q[2], q[3]];
}
