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

/**
 * Intraclass correlation: share of the variance that lies between runs; of the mean of `cycles` cycles instead of a single
 * one where that is given. One-way, ICC(1,1) and ICC(1,k): cycles of different runs have nothing in common by their number.
 *
 *   sb^2/(sb^2 + se^2/cycles)
 *
 * @param between  standard deviation between runs
 * @param within   standard deviation between the cycles of a run; not both 0
 * @source P. E. Shrout, J. L. Fleiss, Psychol. Bull. 86 (1979) 420-428
 * @example intraclass(1, 2) // => 0.2
 */
export function intraclass(between: number, within: number, cycles = 1): number {
  // relative to the larger, so that a square neither overflows nor vanishes
  const largest = Math.max(between, within);
  const b = (between / largest) ** 2;
  return b / (b + (within / largest) ** 2 / cycles);
}

/**
 * How many times too small the variance of a mean comes out where cycles are counted as if each were a run.
 *
 * @param cycles  per run
 * @source L. Kish, Survey Sampling (1965), section 5.4
 * @example designEffect(10, 0.3) // => 3.7
 */
export function designEffect(cycles: number, correlation: number): number {
  return 1 + (cycles - 1) * correlation;
}

/**
 * Where a function that passes from below a level to above it reaches it, between two places: Ridders' method, which keeps the
 * place between two ends and doubles the digits with every two looks.
 *
 * @param bracket.low        below the level there
 * @param bracket.high       at or above it
 * @param bracket.tolerance  two answers in a row this near to each other, as a part of the last, are near enough
 * @source C. J. F. Ridders, IEEE Trans. Circuits Syst. 26 (1979) 979-980
 * @example whereReached((x) => x * x, 2, { low: 0, high: 2, tolerance: 1e-12 }) // => 1.4142135623731
 */
export function whereReached(
  rising: (x: number) => number,
  level: number,
  bracket: { low: number; high: number; tolerance: number },
): number {
  let { low, high } = bracket;
  let below = rising(low) - level;
  let above = rising(high) - level;
  let last = Number.POSITIVE_INFINITY;
  for (let step = 0; step < 60; step++) {
    const middle = 0.5 * (low + high);
    const between = rising(middle) - level;
    const root = Math.sqrt(between * between - below * above);
    // all three on the level: flat there
    if (!(root > 0)) return middle;
    const next = middle - ((middle - low) * between) / root;
    if (Math.abs(next - last) <= bracket.tolerance * Math.abs(next)) return next;
    last = next;
    const there = rising(next) - level;
    if (there === 0) return next;
    // the two of the four places that lie nearest to each other on either side
    const places: [number, number][] = [
      [low, below],
      [middle, between],
      [next, there],
      [high, above],
    ];
    for (const [place, value] of places) {
      if (value < 0 && place > low) [low, below] = [place, value];
      if (value >= 0 && place < high) [high, above] = [place, value];
    }
  }
  return last;
}
