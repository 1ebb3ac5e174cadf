import type { Quaternion } from "../foundation/units.ts";
import { symmetricEigen } from "./symmetricEigen.ts";

/**
 * The turn that carries a first set of vectors best onto a second, from their cross sums: the eigenvector to the largest
 * eigenvalue of a symmetric 4 x 4 matrix. Never a mirrored solution.
 *
 * @param sums  sum over all pairs of first[i] second[j], row by row: xx xy xz yx yy yz zx zy zz
 * @returns the turn (x y z w, w >= 0), and the sum of second . turned first, which it makes largest
 * @source B. K. P. Horn, Closed-form solution of absolute orientation using unit quaternions, J. Opt. Soc. Am. A 4 (1987)
 *   629-642, section 4
 */
export function turnOfSums(sums: readonly number[]): { rotation: Quaternion; sum: number } {
  const [xx, xy, xz, yx, yy, yz, zx, zy, zz] = sums as [
    number,
    number,
    number,
    number,
    number,
    number,
    number,
    number,
    number,
  ];
  // rows of Horn's matrix in the order w x y z
  const { values, vectors } = symmetricEigen([
    [xx + yy + zz, yz - zy, zx - xz, xy - yx],
    [yz - zy, xx - yy - zz, xy + yx, zx + xz],
    [zx - xz, xy + yx, -xx + yy - zz, yz + zy],
    [xy - yx, zx + xz, yz + zy, -xx - yy + zz],
  ]);
  const largest = values.reduce((best, value, k) => (value > values[best]! ? k : best), 0);
  const vector = vectors[largest]!;
  const sign = vector[0]! < 0 ? -1 : 1;
  return {
    rotation: [sign * vector[1]!, sign * vector[2]!, sign * vector[3]!, sign * vector[0]!],
    sum: values[largest]!,
  };
}
