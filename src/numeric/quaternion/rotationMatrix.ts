import type { Quaternion } from "../../foundation/units.ts";

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
