import type { SubjectTrack } from "../alignment/subjectTracks.ts";
import type { Window } from "../foundation/tracks.ts";

/** Errors of one subject inside a window; views of the track, not copies. */
export interface ErrorSlice {
  readonly t: Float64Array;
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly z: Float64Array;
}

/** First index whose instant is not before `time`. */
export function lowerBound(t: Float64Array, time: number): number {
  let low = 0;
  let high = t.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (t[middle]! < time) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** The errors in [from, to). */
export function sliceErrors({ t, error }: SubjectTrack, [from, to]: Window): ErrorSlice {
  const a = lowerBound(t, from);
  const b = lowerBound(t, to);
  return { t: t.subarray(a, b), x: error.x.subarray(a, b), y: error.y.subarray(a, b), z: error.z.subarray(a, b) };
}

/** The measured positions in [from, to). */
export function sliceMeasured({ t, measured }: SubjectTrack, [from, to]: Window): ErrorSlice {
  const a = lowerBound(t, from);
  const b = lowerBound(t, to);
  return {
    t: t.subarray(a, b),
    x: measured.x.subarray(a, b),
    y: measured.y.subarray(a, b),
    z: measured.z.subarray(a, b),
  };
}
