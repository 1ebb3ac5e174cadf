import type { SubjectTrack } from "../alignment/subjectTracks.ts";
import type { SubjectTracking } from "../contract/evaluation.ts";
import { axes, type Subject, subjects, type Window } from "../foundation/tracks.ts";
import { extent } from "../numeric/descriptive.ts";
import { sliceErrors } from "./windowSlices.ts";

/** The smallest number of cycles, and the shortest hold in seconds, among a trajectory's used runs; by trajectory. */
export interface CommonLengths {
  readonly cycles: Record<string, number | null>;
  readonly hold: Record<string, number | null>;
}

/** Lowest and highest error of each part of a window: x, y, z, and the largest length in `high[3]`. */
export interface PartExtremes {
  readonly low: readonly Float64Array[];
  readonly high: readonly Float64Array[];
}
export type Extremes = Partial<Record<Subject, PartExtremes>>;

/** Extremes of consecutive parts, kept so that maxima can later be taken over a length common to several runs. */
export function extremesByPart(track: SubjectTrack, parts: readonly Window[]): PartExtremes {
  const low = [0, 1, 2, 3].map(() => new Float64Array(parts.length).fill(Number.POSITIVE_INFINITY));
  const high = [0, 1, 2, 3].map(() => new Float64Array(parts.length).fill(Number.NEGATIVE_INFINITY));
  parts.forEach((part, k) => {
    const slice = sliceErrors(track, part);
    [slice.x, slice.y, slice.z].forEach((column, c) => {
      const own = extent(column);
      low[c]![k] = own.low;
      high[c]![k] = own.high;
    });
    const squares = largestSquare(slice.x, slice.y, slice.z);
    high[3]![k] = squares < 0 ? squares : Math.sqrt(squares);
  });
  return { low, high };
}

/** Largest squared length of the vectors x, y, z; -Infinity for none. */
function largestSquare(x: Float64Array, y: Float64Array, z: Float64Array): number {
  let largest = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < x.length; i++) {
    const square = x[i]! * x[i]! + y[i]! * y[i]! + z[i]! * z[i]!;
    if (square > largest) largest = square;
  }
  return largest;
}

/**
 * Tracking figures with maximum and range taken over the first `parts` parts only: both grow with the length of a
 * window, so runs are compared over the length they have in common.
 */
export function overCommonLength(tracking: SubjectTracking, extremes: Extremes, parts: number): SubjectTracking {
  const out: SubjectTracking = {};
  for (const subject of subjects) {
    const figures = tracking[subject];
    const own = extremes[subject];
    if (!figures || !own) continue;
    const lowest = (c: number): number => Math.min(...own.low[c]!.subarray(0, parts));
    const highest = (c: number): number => Math.max(...own.high[c]!.subarray(0, parts));
    const next = { ...figures };
    axes.forEach((axis, c) => {
      const low = lowest(c);
      const high = highest(c);
      if (!Number.isFinite(high - low)) return;
      next[axis] = { ...figures[axis], max_abs: Math.max(Math.abs(low), Math.abs(high)), range: high - low };
    });
    if (Number.isFinite(highest(3))) next.norm = { ...figures.norm, max_abs: highest(3) };
    out[subject] = next;
  }
  return out;
}
