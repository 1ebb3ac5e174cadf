import type { RunValues } from "./runValues.ts";

/** A block whose labels can be exchanged. */
export interface BlockPart {
  /** the runs' values, ascending, less the centre of `Relabelling` */
  readonly values: Float64Array;
  /** how many of them are labelled candidate */
  readonly picks: number;
}

/** What can be relabelled in a cell, and how the difference follows: (sum over the relabelled candidates + offset)/scale. */
export interface Relabelling {
  /** blocks that hold both configurations, in an order that depends on their values alone */
  readonly parts: readonly BlockPart[];
  /** sum over the runs that are labelled candidate now, of those blocks */
  readonly chosen: number;
  readonly offset: number;
  readonly scale: number;
  /** the mirrored labels are an arrangement too, and as extreme */
  readonly mirrored: boolean;
}

/**
 * Reduces a difference to a sum over the candidate's runs, which is what permutation has to count.
 *
 *   within blocks:  difference = sum over blocks of (S_b - n1_b mean_b) / sum over blocks of n0_b n1_b/n_b
 *   of the means:   difference = (S - n1 T/n) (1/n0 + 1/n1)
 *
 * with S the sum over the candidate's runs (S_b in a block), T that over all. Values are taken about their block's mean, or
 * about T/n, so that a small difference of large values keeps its digits. Candidates in a block without a baseline run stay
 * where they are.
 *
 * Sorting makes what is drawn independent of the order and the names of runs and blocks.
 *
 * @param method  how the difference is taken: `blocked` leaves blocks with one configuration out
 */
export function relabelling({ values, candidate, block, blocks }: RunValues, method: "welch" | "blocked"): Relabelling {
  const members: number[][] = Array.from({ length: blocks }, () => []);
  for (let i = 0; i < block.length; i++) members[block[i]!]!.push(i);
  const overall = centreOf(values);
  const parts: BlockPart[] = [];
  let [chosen, offset, within, candidates] = [0, 0, 0, 0];
  let mirrored = true;
  for (const runs of members) {
    const own = Float64Array.from(runs, (i) => values[i]!).sort();
    const centre = method === "blocked" ? centreOf(own) : overall;
    let picks = 0;
    let sum = 0;
    for (const i of runs) {
      if (candidate[i] === 0) continue;
      picks++;
      sum += values[i]! - centre.mean - centre.rest;
    }
    candidates += picks;
    const movable = picks > 0 && picks < own.length;
    // with runs that cannot move the mirrored labels give another difference of means
    if (movable ? 2 * picks !== own.length : method === "welch" && own.length > 0) mirrored = false;
    if (movable) {
      parts.push({ values: own.map((value) => value - centre.mean - centre.rest), picks });
      chosen += sum;
      within += (picks * (own.length - picks)) / own.length;
    } else if (method === "welch") offset += sum;
  }
  const scale = method === "blocked" ? within : 1 / (1 / candidates + 1 / (values.length - candidates));
  return { parts: parts.sort(byShapeThenValues), chosen, offset, scale, mirrored };
}

/** The smaller side of a block is what is drawn. */
export function fewerOf({ values, picks }: BlockPart): number {
  return Math.min(picks, values.length - picks);
}

function byShapeThenValues(a: BlockPart, b: BlockPart): number {
  if (a.values.length !== b.values.length) return a.values.length - b.values.length;
  if (fewerOf(a) !== fewerOf(b)) return fewerOf(a) - fewerOf(b);
  const at = a.values.findIndex((value, i) => value !== b.values[i]);
  return at < 0 ? 0 : a.values[at]! - b.values[at]!;
}

/** The mean, and what its rounding leaves: of large values it hides the small ones' mirror images. */
function centreOf(values: Float64Array): { mean: number; rest: number } {
  const mean = sumOf(values) / values.length;
  return { mean, rest: sumOf(values.map((value) => value - mean)) / values.length };
}

function sumOf(values: Float64Array): number {
  let sum = 0;
  for (const value of values) sum += value;
  return sum;
}
