import type { Quaternion } from "../../foundation/units.ts";

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
