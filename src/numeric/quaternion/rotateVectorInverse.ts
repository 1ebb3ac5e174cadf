import type { Quaternion, Vector3 } from "../../foundation/units.ts";
import { conjugateQuaternion } from "./conjugateQuaternion.ts";
import { rotateVector } from "./rotateVector.ts";

/**
 * A vector of the parent in the body's coordinates: `rotateVector` undone.
 *
 * @param q  x y z w, unit norm, body to parent
 * @param v  in the parent frame
 * @returns in the body frame
 * @example rotateVectorInverse([0, 0, Math.SQRT1_2, Math.SQRT1_2], [0, 1, 0]) // => 1, 0, 0 to rounding
 */
export function rotateVectorInverse(q: Quaternion, v: Vector3): Vector3 {
  return rotateVector(conjugateQuaternion(q), v);
}
