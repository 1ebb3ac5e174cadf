import type { Quaternion, Vector3 } from "../../foundation/units.ts";

/**
 * The unit quaternion that turns by a rotation vector (the exponential): inverse of `rotationVector`.
 *
 * @param v  radians, axis times angle
 * @returns x y z w, unit norm; w >= 0 for angles up to pi
 * @example quaternionFromRotationVector([0, 0, 0]) // => 0, 0, 0, 1
 */
export function quaternionFromRotationVector(v: Vector3): Quaternion {
  const angle = Math.sqrt(v[0] * v[0] + v[1] * v[1] + v[2] * v[2]);
  const scale = angle > 0 ? Math.sin(angle / 2) / angle : 0.5;
  return [scale * v[0], scale * v[1], scale * v[2], Math.cos(angle / 2)];
}
