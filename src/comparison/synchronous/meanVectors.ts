import type { MeanVectors } from "./amplitudeRatio.ts";

/**
 * Mean vectors of both configurations and the scatter of a run about its group (configuration in its block), pooled.
 *
 * With blocks the means are averaged over blocks with the weights n0 n1/(n0 + n1) of the blocked difference, so that their
 * difference is that one; what blocks share is then not in the covariance: an interval made of it holds for the blocks flown.
 *
 * @param runs  two columns: cos, sin
 * @returns null where a configuration has no run; `degreesOfFreedom` may be 0
 */
export function meanVectors({ columns, candidate, block, blocks }: ComparedVectors): MeanVectors | null {
  const [x, y] = columns as readonly [Float64Array, Float64Array];
  const groups = 2 * blocks;
  const count = new Float64Array(groups);
  const sx = new Float64Array(groups);
  const sy = new Float64Array(groups);
  const groupOf = (i: number): number => 2 * block[i]! + candidate[i]!;
  for (let i = 0; i < x.length; i++) {
    const g = groupOf(i);
    count[g]!++;
    sx[g]! += x[i]!;
    sy[g]! += y[i]!;
  }
  let [xx, xy, yy] = [0, 0, 0];
  for (let i = 0; i < x.length; i++) {
    const g = groupOf(i);
    const dx = x[i]! - sx[g]! / count[g]!;
    const dy = y[i]! - sy[g]! / count[g]!;
    xx += dx * dx;
    xy += dx * dy;
    yy += dy * dy;
  }
  const mean = [
    [0, 0],
    [0, 0],
  ] as [[number, number], [number, number]];
  const share: [number, number] = [0, 0];
  let total = 0;
  let filled = 0;
  for (let b = 0; b < blocks; b++) {
    const [n0, n1] = [count[2 * b]!, count[2 * b + 1]!];
    filled += (n0 > 0 ? 1 : 0) + (n1 > 0 ? 1 : 0);
    if (n0 === 0 || n1 === 0) continue;
    const weight = (n0 * n1) / (n0 + n1);
    total += weight;
    for (const side of [0, 1] as const) {
      const g = 2 * b + side;
      mean[side][0] += (weight * sx[g]!) / count[g]!;
      mean[side][1] += (weight * sy[g]!) / count[g]!;
      share[side] += weight ** 2 / count[g]!;
    }
  }
  if (total === 0) return null;
  const df = x.length - filled;
  const per = df > 0 ? 1 / df : 0;
  return {
    baseline: [mean[0][0] / total, mean[0][1] / total],
    candidate: [mean[1][0] / total, mean[1][1] / total],
    covariance: [xx * per, xy * per, yy * per],
    degreesOfFreedom: df,
    shares: [share[0] / total ** 2, share[1] / total ** 2],
  };
}

/** One vector per run of both configurations; blocks are numbered from 0, runs without a block share one. */
export interface RunVectors {
  /** p columns of n numbers */
  readonly columns: readonly Float64Array[];
  /** 1 where the run flew the candidate, 0 for the baseline */
  readonly candidate: Uint8Array;
  readonly block: Int32Array;
  readonly blocks: number;
}

/** Runs that one difference is taken from: all, or those of the blocks that hold both configurations. */
export interface ComparedVectors {
  readonly method: "whole" | "blocked";
  readonly columns: readonly Float64Array[];
  readonly candidate: Uint8Array;
  /** with `whole` all runs stand in block 0 */
  readonly block: Int32Array;
  readonly blocks: number;
  /** the blocks as flown, within which labels may be exchanged; equal to `block` where the method is `blocked` */
  readonly flown: Int32Array;
  readonly flownBlocks: number;
}

/**
 * The runs that enter: those of blocks that hold both configurations where at least two blocks do, else all runs as if of
 * one block (the rule of `estimateDifference`).
 */
export function comparedVectors({ columns, candidate, block, blocks }: RunVectors): ComparedVectors {
  const counts = Array.from({ length: blocks }, () => [0, 0] as [number, number]);
  for (let i = 0; i < block.length; i++) counts[block[i]!]![candidate[i] as 0 | 1]++;
  const full = counts.map(([baseline, other]) => baseline > 0 && other > 0);
  if (full.filter(Boolean).length < 2) {
    const one = new Int32Array(block.length);
    return { method: "whole", columns, candidate, block: one, blocks: 1, flown: block, flownBlocks: blocks };
  }
  const kept = Array.from(block.keys()).filter((i) => full[block[i]!]);
  const number = new Map<number, number>();
  for (const i of kept) if (!number.has(block[i]!)) number.set(block[i]!, number.size);
  const renumbered = Int32Array.from(kept, (i) => number.get(block[i]!)!);
  return {
    method: "blocked",
    columns: columns.map((column) => Float64Array.from(kept, (i) => column[i]!)),
    candidate: Uint8Array.from(kept, (i) => candidate[i]!),
    block: renumbered,
    blocks: number.size,
    flown: renumbered,
    flownBlocks: number.size,
  };
}
