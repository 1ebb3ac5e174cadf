import type { SubjectTrack } from "../alignment/subjectTracks.ts";
import type { Window } from "../foundation/tracks.ts";
import { lowerBound } from "../numeric/sortedColumns.ts";

export { lowerBound };

/** Errors of one subject inside a window; views of the track, not copies. */
export interface ErrorSlice {
  readonly t: Float64Array;
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly z: Float64Array;
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
