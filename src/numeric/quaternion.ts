import type { Quaternion, Radians, Vector3 } from "../foundation/units.ts";

/**
 * Hamilton product p q: the rotation q followed by p. With p = parent from body and q = body from part, parent from part.
 *
 * @param p  x y z w
 * @param q  x y z w
 * @example multiplyQuaternions([1, 0, 0, 0], [0, 1, 0, 0]) // => 0, 0, 1, 0  (i j = k)
 */
export function multiplyQuaternions(p: Quaternion, q: Quaternion): Quaternion {
  const [px, py, pz, pw] = p;
  const [qx, qy, qz, qw] = q;
  return [
    pw * qx + px * qw + py * qz - pz * qy,
    pw * qy - px * qz + py * qw + pz * qx,
    pw * qz + px * qy - py * qx + pz * qw,
    pw * qw - px * qx - py * qy - pz * qz,
  ];
}

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

/**
 * Rotation matrix of a unit quaternion, body to parent: parent = R body.
 *
 * @param q  x y z w, unit norm
 * @returns nine numbers, row-major
 * @example rotationMatrix([0, 0, 1, 0]) // => -1, 0, 0, 0, -1, 0, 0, 0, 1
 */
export function rotationMatrix(q: Quaternion): Float64Array {
  const [x, y, z, w] = q;
  return Float64Array.of(
    1 - 2 * (y * y + z * z),
    2 * (x * y - z * w),
    2 * (x * z + y * w),
    2 * (x * y + z * w),
    1 - 2 * (x * x + z * z),
    2 * (y * z - x * w),
    2 * (x * z - y * w),
    2 * (y * z + x * w),
    1 - 2 * (x * x + y * y),
  );
}

interface EulerAngles {
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

/** By how much angle `a` is ahead of angle `b`, the short way round: -pi to pi. */
export function angleApart(a: Radians, b: Radians): Radians {
  return Math.atan2(Math.sin(a - b), Math.cos(a - b));
}
