import type { Quaternion } from "../../foundation/units.ts";
import { conjugateQuaternion } from "./conjugateQuaternion.ts";
import { multiplyQuaternions } from "./multiplyQuaternions.ts";
import { quaternionFromRotationVector } from "./quaternionFromRotationVector.ts";
import { rotationVector } from "./rotationVector.ts";

/**
 * Turn at constant rate from p towards q, the shortest way round.
 *
 *   p exp( fraction log(p^-1 q) )
 *
 * Exact for ends that nearly coincide, where the usual ratio of sines is 0/0. Ends half a turn apart have two shortest ways;
 * it takes one.
 *
 * @param p         x y z w, unit norm
 * @param q         x y z w, unit norm; its sign does not matter
 * @param fraction  0 = p, 1 = q (with the sign that lies nearer p)
 * @returns x y z w, unit norm
 * @source K. Shoemake, SIGGRAPH Comput. Graph. 19 (1985) 245-254
 * @example slerp([0, 0, 0, 1], [0, 0, 1, 0], 0.5) // => 0, 0, 0.7071067811865475, 0.7071067811865476
 */
export function slerp(p: Quaternion, q: Quaternion, fraction: number): Quaternion {
  const [x, y, z] = rotationVector(multiplyQuaternions(conjugateQuaternion(p), q));
  return multiplyQuaternions(p, quaternionFromRotationVector([fraction * x, fraction * y, fraction * z]));
}
