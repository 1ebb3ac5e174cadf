import { seededRandom } from "../numeric/seededRandom.ts";
import type { RunValues } from "./cellRuns.ts";

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

/**
 * Sums of all subsets of a given size, each once; the order is that of the subsets' last members.
 *
 * @param values  n numbers
 * @param size    0 to n
 * @returns n over size sums
 */
export function subsetSums(values: Float64Array, size: number): Float64Array {
  const n = values.length;
  // bySize[k]: sums of the k-subsets of the values seen so far; each value joins those without it
  const bySize: number[][] = Array.from({ length: size + 1 }, () => []);
  bySize[0]!.push(0);
  for (let i = 0; i < n; i++) {
    for (let k = Math.min(size, i + 1); k >= 1; k--) {
      // a subset too small to be filled up by the values that are left is no start
      if (size - k > n - i - 1) break;
      const smaller = bySize[k - 1]!;
      const own = bySize[k]!;
      for (const sum of smaller) own.push(sum + values[i]!);
    }
  }
  return Float64Array.from(bySize[size]!);
}

/** How many runs a block has, and how many of them are drawn. */
interface DrawShape {
  readonly runs: number;
  readonly drawn: number;
}

type Positions = Uint16Array | Uint32Array;

/**
 * Random relabellings: in each draw every block gives its number of positions, without replacement, all subsets alike likely
 * (the first steps of Fisher and Yates's shuffle).
 *
 * Cells of one trajectory share their shape, so a comparison keeps what was drawn (`PositionBook`).
 *
 * @returns per block, draw after draw, the positions drawn
 * @throws CounterpoiseError  code `not-a-seed`
 * @source R. A. Fisher, F. Yates, Statistical Tables (1938), example 12
 */
function drawPositions(
  shapes: readonly DrawShape[],
  { draws, seed }: { readonly draws: number; readonly seed: number },
): Positions[] {
  const { uniform } = seededRandom(seed);
  return shapes.map(({ runs, drawn }) => {
    // half the memory is half the time of every cell that reads them
    const positions = new (runs > 65_536 ? Uint32Array : Uint16Array)(draws * drawn);
    const order = Uint32Array.from({ length: runs }, (_, i) => i);
    let at = 0;
    for (let draw = 0; draw < draws; draw++) {
      for (let k = 0; k < drawn; k++) {
        const j = k + Math.floor(uniform() * (runs - k));
        const picked = order[j]!;
        order[j] = order[k]!;
        order[k] = picked;
        positions[at++] = picked;
      }
    }
    return positions;
  });
}

/** What was drawn, by shape: a comparison draws once for all cells that have the same numbers of runs. */
export class PositionBook {
  readonly #drawn = new Map<string, Positions[]>();

  take(shapes: readonly DrawShape[], options: { readonly draws: number; readonly seed: number }): Positions[] {
    const key = JSON.stringify([shapes, options.draws, options.seed]);
    let positions = this.#drawn.get(key);
    if (positions === undefined) {
      positions = drawPositions(shapes, options);
      this.#drawn.set(key, positions);
    }
    return positions;
  }
}
