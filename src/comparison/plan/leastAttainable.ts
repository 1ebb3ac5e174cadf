import { binomial } from "../../numeric/binomial.ts";

/** What a design of blocks with equal numbers of both configurations can show by rearranging the labels. */
export interface LeastAttainable {
  /** ways in which the labels could have fallen within blocks; a double beyond 2^53 */
  readonly arrangements: number;
  /** the smallest two-sided permutation p it could ever give */
  readonly leastP: number;
}

/**
 * Least attainable permutation p of a design before it is flown, by the rule of `permutationTest`: 2/N, since the mirrored
 * labels are as extreme where every block holds equal numbers of both.
 *
 *   N = product over blocks of (2 k over k)
 *
 * @param perBlock  runs per configuration in each block, whole; blocks with none are left out
 * @returns one arrangement and p = 1 where nothing can be rearranged
 * @example leastAttainable([2, 2]) // => { arrangements: 36, leastP: 2/36 }
 */
export function leastAttainable(perBlock: readonly number[]): LeastAttainable {
  let arrangements = 1;
  for (const runs of perBlock) arrangements *= binomial(2 * runs, runs);
  return { arrangements, leastP: arrangements > 1 ? 2 / arrangements : 1 };
}
