import type { Quaternion } from "../../foundation/units.ts";
import { conjugateQuaternion } from "./conjugateQuaternion.ts";
import { multiplyQuaternions } from "./multiplyQuaternions.ts";

/**
 * Angle of the rotation between two attitudes. By atan2 and not by acos, which resolves no angle below 1e-8.
 *
 * @param p  x y z w, unit norm
 * @param q  x y z w, unit norm; the signs do not matter
 * @returns radians, 0 to pi
 * @example angularDistance([0, 0, 0, 1], [0, 0, 1, 0]) // => 3.141592653589793
 */
export function angularDistance(p: Quaternion, q: Quaternion): number {
  const [x, y, z, w] = multiplyQuaternions(conjugateQuaternion(p), q);
  return 2 * Math.atan2(Math.sqrt(x * x + y * y + z * z), Math.abs(w));
}
