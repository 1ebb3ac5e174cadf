import { NotFiniteError, TooFewSamplesError } from "../../foundation/errors.ts";

/** The cycles of one run summed up: all that the components of the variance depend on. */
export interface RunSums {
  /** runs of one group repeat one another: same configuration, same block */
  readonly group: string;
  /** cycles, 1 or more */
  readonly count: number;
  readonly mean: number;
  /** sum of squares about the mean */
  readonly squares: number;
}

/**
 * Sums of one run; two passes, so that a small spread on a large mean keeps its digits.
 *
 * @param cycles  one number per cycle
 * @throws TooFewSamplesError  no cycle
 * @throws NotFiniteError      NaN or infinity at index i
 */
export function runSums(group: string, cycles: ArrayLike<number>): RunSums {
  const count = cycles.length;
  if (count < 1) throw new TooFewSamplesError("runSums", 1, 0);
  let mean = 0;
  for (let j = 0; j < count; j++) {
    if (!Number.isFinite(cycles[j])) throw new NotFiniteError("runSums", j, cycles[j]!);
    mean += cycles[j]! / count;
  }
  let squares = 0;
  for (let j = 0; j < count; j++) squares += (cycles[j]! - mean) ** 2;
  return { group, count, mean, squares };
}

/** Runs by group, with what the cycles within runs show. */
export interface NestedRuns {
  /** in order of appearance */
  readonly names: readonly string[];
  readonly groups: readonly (readonly RunSums[])[];
  /** sum of squares of the cycles about their runs' means */
  readonly squares: number;
  /** runs - groups, and cycles - runs */
  readonly degreesOfFreedom: { readonly runs: number; readonly cycles: number };
}

/** Rounding leaves this part of the values; a spread below it is none. */
const rounding = 1e-12;

/** @returns null where no run repeats another in its group, no run has two cycles, or the cycles within runs are all alike */
export function nestedRuns(runs: readonly RunSums[]): NestedRuns | null {
  const byGroup = new Map<string, RunSums[]>();
  let squares = 0;
  let cycles = 0;
  let largest = 0;
  for (const run of runs) {
    const own = byGroup.get(run.group);
    if (own === undefined) byGroup.set(run.group, [run]);
    else own.push(run);
    squares += run.squares;
    cycles += run.count - 1;
    largest = Math.max(largest, Math.abs(run.mean));
  }
  const between = runs.length - byGroup.size;
  if (between < 1 || cycles < 1 || !(squares > cycles * (rounding * largest) ** 2)) return null;
  return {
    names: [...byGroup.keys()],
    groups: [...byGroup.values()],
    squares,
    degreesOfFreedom: { runs: between, cycles },
  };
}
