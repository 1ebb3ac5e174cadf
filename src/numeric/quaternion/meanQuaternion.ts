import { create, eigsDependencies, type FactoryFunctionMap, type MathJsInstance } from "mathjs";
import { CounterpoiseError, TooFewSamplesError } from "../../foundation/errors.ts";
import type { Quaternion } from "../../foundation/units.ts";
import { requireSameLength } from "../requireSameLength.ts";
import { normalizeQuaternion } from "./normalizeQuaternion.ts";

/** made at the first call: it takes longer than reading a small log */
let library: Pick<MathJsInstance, "eigs"> | undefined;

/**
 * Mean attitude: the unit quaternion closest to all in the mean square, the eigenvector of the largest eigenvalue of
 * sum of w q q'. Signs of the quaternions do not matter.
 *
 * @param quaternions  n >= 1, x y z w, unit norm
 * @param weights      n numbers, >= 0, not all 0; 1 each where left out
 * @returns x y z w, unit norm, w >= 0
 * @throws TooFewSamplesError  n < 1
 * @throws CounterpoiseError   code `unequal-lengths`; code `bad-weights`; code `no-mean-attitude`: the attitudes have no
 *                             single mean (half turns apart, say), or hold NaN
 * @source F. L. Markley, Y. Cheng, J. L. Crassidis, Y. Oshman, J. Guid. Control Dyn. 30 (2007) 1193-1197
 * @example meanQuaternion([[0, 0, 0, 1], [0, 0, 0, -1]]) // => 0, 0, 0, 1
 */
export function meanQuaternion(quaternions: readonly Quaternion[], weights?: readonly number[]): Quaternion {
  if (quaternions.length < 1) throw new TooFewSamplesError("meanQuaternion", 1, 0);
  if (weights) requireSameLength("meanQuaternion", quaternions.length, weights.length);
  const total = weights ? weights.reduce((sum, weight) => sum + weight, 0) : quaternions.length;
  if (!(total > 0 && Number.isFinite(total)) || weights?.some((weight) => weight < 0)) {
    throw new CounterpoiseError(
      "bad-weights",
      `meanQuaternion requires weights of 0 or more that add up to more than 0, found a sum of ${total}`,
    );
  }
  const moment = [0, 1, 2, 3].map(() => [0, 0, 0, 0]);
  quaternions.forEach((q, i) => {
    const weight = (weights?.[i] ?? 1) / total;
    for (const [row, line] of moment.entries()) {
      for (let column = 0; column < 4; column++) line[column]! += weight * q[row]! * q[column]!;
    }
  });
  const vectors = principal(moment);
  const mean = normalizeQuaternion(vectors);
  return mean[3] < 0 ? [-mean[0], -mean[1], -mean[2], -mean[3]] : mean;
}

function principal(moment: number[][]): Quaternion {
  if (moment.flat().every(Number.isFinite)) {
    library ??= create({ eigsDependencies } as { eigsDependencies: FactoryFunctionMap });
    const found = library.eigs(moment, 1e-15).eigenvectors as { value: number; vector: number[] }[];
    const [largest, second] = found.toSorted((a, b) => b.value - a.value);
    if (largest && second && largest.value - second.value > 1e-12) return largest.vector as unknown as Quaternion;
  }
  throw new CounterpoiseError("no-mean-attitude", "meanQuaternion requires attitudes with one mean, found none", {
    hint: "attitudes half a turn apart have no mean",
  });
}
