import type { Quaternion, Radians } from "../../foundation/units.ts";
import { multiplyQuaternions } from "./multiplyQuaternions.ts";

/**
 * Attitude from roll, pitch and yaw: turned by yaw about z, then by pitch about the new y, then by roll about the
 * newest x (intrinsic z-y'-x'', the same as roll, pitch, yaw about the fixed axes in that order).
 *
 * @returns x y z w, unit norm, body to parent
 * @example quaternionFromEuler(0, 0, Math.PI) // => 0, 0, 1, 0 to rounding
 */
export function quaternionFromEuler(roll: Radians, pitch: Radians, yaw: Radians): Quaternion {
  const about = (angle: Radians, axis: 0 | 1 | 2): Quaternion => {
    const s = Math.sin(angle / 2);
    return [axis === 0 ? s : 0, axis === 1 ? s : 0, axis === 2 ? s : 0, Math.cos(angle / 2)];
  };
  return multiplyQuaternions(about(yaw, 2), multiplyQuaternions(about(pitch, 1), about(roll, 0)));
}
