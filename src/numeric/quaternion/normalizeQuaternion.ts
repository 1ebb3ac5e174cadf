import { CounterpoiseError } from "../../foundation/errors.ts";
import type { Quaternion } from "../../foundation/units.ts";

/**
 * The quaternion of unit norm in the same direction; the sign is kept.
 *
 * @param q  x y z w, any length but nought
 * @throws CounterpoiseError  code `bad-quaternion`: length nought, NaN or infinite
 * @example normalizeQuaternion([0, 0, 3, 4]) // => 0, 0, 0.6, 0.8
 */
export function normalizeQuaternion(q: Quaternion): Quaternion {
  const length = Math.hypot(q[0], q[1], q[2], q[3]);
  if (!(length > 0 && Number.isFinite(length))) {
    throw new CounterpoiseError(
      "bad-quaternion",
      `normalizeQuaternion requires a quaternion of finite length above 0, found ${q.join(", ")}`,
      { hint: "a tracker that has lost the body often sends zeros" },
    );
  }
  return [q[0] / length, q[1] / length, q[2] / length, q[3] / length];
}
