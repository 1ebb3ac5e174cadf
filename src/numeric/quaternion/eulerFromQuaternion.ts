import type { Quaternion, Radians } from "../../foundation/units.ts";
import { rotationMatrix } from "./rotationMatrix.ts";

export interface EulerAngles {
  /** -pi to pi */
  readonly roll: Radians;
  /** -pi/2 to pi/2 */
  readonly pitch: Radians;
  /** -pi to pi */
  readonly yaw: Radians;
}

/** cos(pitch) below which roll and yaw turn about the same axis and rounding decides between them */
const UPRIGHT = 1e-9;

/**
 * Roll, pitch and yaw of an attitude (intrinsic z-y'-x'', see `quaternionFromEuler`).
 *
 * With the nose straight up or down only the sum or difference of roll and yaw is known: roll is then set to 0.
 *
 * @param q  x y z w, unit norm, body to parent; q and -q give the same
 * @example eulerFromQuaternion([0, 0, Math.SQRT1_2, Math.SQRT1_2]).yaw // => 1.5707963267948966
 */
export function eulerFromQuaternion(q: Quaternion): EulerAngles {
  const m = rotationMatrix(q);
  const cosPitch = Math.hypot(m[0]!, m[3]!);
  // atan2 and not asin, which loses half its digits near a quarter turn
  const pitch = Math.atan2(-m[6]!, cosPitch);
  if (cosPitch < UPRIGHT) return { roll: 0, pitch, yaw: Math.atan2(-m[1]!, m[4]!) };
  return { roll: Math.atan2(m[7]!, m[8]!), pitch, yaw: Math.atan2(m[3]!, m[0]!) };
}
