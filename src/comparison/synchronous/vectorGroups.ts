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
