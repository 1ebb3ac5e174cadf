import type { Quaternion, Radians } from "../../foundation/units.ts";

/**
 * Quaternion of intrinsic z-y'-x'' angles: turn by yaw about z, by pitch about the new y, by roll about the newest x.
 *
 *   q = qz(yaw) qy(pitch) qx(roll)
 *
 * The numeric room has this too; a room does not reach a neighbour on its own floor, and this is the one place
 * where the contract needs it.
 *
 * @returns x y z w, unit norm, Hamilton, child in parent
 * @source J. Diebel, Representing Attitude, Stanford University (2006), section 8.11 (sequence 3-2-1)
 */
export function rotationFromAngles(roll: Radians, pitch: Radians, yaw: Radians): Quaternion {
  const [sr, cr] = [Math.sin(roll / 2), Math.cos(roll / 2)];
  const [sp, cp] = [Math.sin(pitch / 2), Math.cos(pitch / 2)];
  const [sy, cy] = [Math.sin(yaw / 2), Math.cos(yaw / 2)];
  return [
    cy * cp * sr - sy * sp * cr,
    cy * sp * cr + sy * cp * sr,
    sy * cp * cr - cy * sp * sr,
    cy * cp * cr + sy * sp * sr,
  ];
}
