import type { CyclesAnswer } from "../../src/contract/api/runAnswers.ts";
import { axes } from "../../src/foundation/signals.ts";
import type { Window } from "../../src/foundation/tracks.ts";
import { type ErrorSlice, lowerBound } from "../../src/pipeline/windowSlices.ts";

/**
 * The error over cycle phase: the mean of each bin of each cycle, and the mean of the cycles, each counting alike. A bin
 * without samples is null; nothing is carried across a gap.
 *
 * @param error   metres
 * @param cycles  seconds; the end of each belongs to the next
 * @param bins    per cycle
 */
export function foldCycles(
  error: ErrorSlice,
  cycles: readonly Window[],
  bins: number,
): Pick<CyclesAnswer, "phase" | "cycles" | "mean" | "behind"> {
  const folded = cycles.map((window) => foldOne(error, window, bins));
  const behind = Array.from({ length: bins }, (_, b) => folded.filter(({ x }) => x[b] !== null).length);
  const meanOf = (axis: "x" | "y" | "z"): (number | null)[] =>
    behind.map((count, b) =>
      count === 0 ? null : folded.reduce((sum, cycle) => sum + (cycle[axis][b] ?? 0), 0) / count,
    );
  return {
    phase: Array.from({ length: bins }, (_, b) => (2 * Math.PI * (b + 0.5)) / bins),
    cycles: folded,
    mean: { x: meanOf("x"), y: meanOf("y"), z: meanOf("z") },
    behind,
  };
}

function foldOne(error: ErrorSlice, [start, end]: Window, bins: number): CyclesAnswer["cycles"][number] {
  const a = lowerBound(error.t, start);
  const b = lowerBound(error.t, end);
  const counts = new Int32Array(bins);
  const sums = axes.map(() => new Float64Array(bins));
  const scale = bins / (end - start);
  for (let i = a; i < b; i++) {
    const bin = Math.min(bins - 1, Math.floor((error.t[i]! - start) * scale));
    counts[bin]!++;
    for (let axis = 0; axis < 3; axis++) sums[axis]![bin]! += error[axes[axis]!][i]!;
  }
  const of = (axis: number): (number | null)[] =>
    Array.from(counts, (count, bin) => (count === 0 ? null : sums[axis]![bin]! / count));
  return { window: [start, end], x: of(0), y: of(1), z: of(2) };
}
