import type { RunValues } from "./runValues.ts";

/**
 * The runs of each group (one configuration in one block) summed up: all that the differences of a cell depend on. Group
 * 2 b is the baseline in block b, 2 b + 1 the candidate.
 */
export interface GroupSums {
  readonly count: Int32Array;
  /** 0 where the group holds no run */
  readonly mean: Float64Array;
  /** sum of squares about the group's mean */
  readonly squares: Float64Array;
}

/** Two passes, so that a small spread on a large mean keeps its digits. */
export function groupSums({ values, candidate, block, blocks }: RunValues): GroupSums {
  const count = new Int32Array(2 * blocks);
  const mean = new Float64Array(2 * blocks);
  const squares = new Float64Array(2 * blocks);
  for (let i = 0; i < values.length; i++) {
    const group = 2 * block[i]! + candidate[i]!;
    count[group]!++;
    mean[group]! += values[i]!;
  }
  for (let group = 0; group < count.length; group++) if (count[group]! > 0) mean[group]! /= count[group]!;
  for (let i = 0; i < values.length; i++) {
    const group = 2 * block[i]! + candidate[i]!;
    squares[group]! += (values[i]! - mean[group]!) ** 2;
  }
  return { count, mean, squares };
}

/** The sums without the run at `index`: its own group is summed again, the others stay. */
export function groupSumsWithout(sums: GroupSums, runs: RunValues, index: number): GroupSums {
  const { values, candidate, block } = runs;
  const group = 2 * block[index]! + candidate[index]!;
  const own = (i: number): boolean => i !== index && block[i] === block[index] && candidate[i] === candidate[index];
  const left = sums.count[group]! - 1;
  let mean = 0;
  for (let i = 0; i < values.length; i++) if (own(i)) mean += values[i]! / left;
  let squares = 0;
  for (let i = 0; i < values.length; i++) if (own(i)) squares += (values[i]! - mean) ** 2;
  const changed = <T extends Int32Array | Float64Array>(column: T, value: number): T => {
    const copy = column.slice() as T;
    copy[group] = value;
    return copy;
  };
  return {
    count: changed(sums.count, left),
    mean: changed(sums.mean, mean),
    squares: changed(sums.squares, squares),
  };
}

/** How many runs of either configuration there are: baseline, candidate. */
export function sideCounts({ count }: Pick<GroupSums, "count">): [number, number] {
  const sides: [number, number] = [0, 0];
  for (let group = 0; group < count.length; group++) sides[(group % 2) as 0 | 1] += count[group]!;
  return sides;
}

/** The same, of those in blocks that hold both configurations. */
export function sideCountsWithinBlocks({ count }: Pick<GroupSums, "count">): [number, number] {
  const full = count.map((own, group) => (own > 0 && count[group ^ 1]! > 0 ? own : 0));
  return sideCounts({ count: full });
}

/** Mean and sum of squares about it of one configuration, whatever the block. */
export function overBlocks(
  { count, mean, squares }: GroupSums,
  side: 0 | 1,
  n: number,
): { mean: number; squares: number } {
  let centre = 0;
  for (let group = side; group < count.length; group += 2) centre += (count[group]! / n) * mean[group]!;
  let sum = 0;
  for (let group = side; group < count.length; group += 2) {
    sum += squares[group]! + count[group]! * (mean[group]! - centre) ** 2;
  }
  return { mean: centre, squares: sum };
}
