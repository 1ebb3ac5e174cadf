import type { AlignedRun } from "../src/alignment/alignRun.ts";
import type { SubjectTrack } from "../src/alignment/subjectTracks.ts";
import { subjects } from "../src/foundation/signals.ts";

/** What is kept of an aligned run for drawing: its subjects' tracks and windows. */
export type RunTraces = Pick<AlignedRun, "subjects" | "cycles" | "hold" | "intervals" | "judgedIn">;

/** Lets go of all that is not drawn. */
export function tracesOf({ subjects: tracks, cycles, hold, intervals, judgedIn }: AlignedRun): RunTraces {
  return { subjects: tracks, cycles, hold, intervals, judgedIn };
}

/** Bytes of the columns, those that subjects share counted for each. */
export function bytesOf(traces: RunTraces): number {
  const columns = ({ t, measured, error, command }: SubjectTrack): Float64Array[] =>
    [t, measured.x, measured.y, measured.z, error.x, error.y, error.z].concat(
      command.t,
      command.x,
      command.y,
      command.z,
    );
  return subjects
    .flatMap((subject) => traces.subjects[subject] ?? [])
    .flatMap(columns)
    .reduce((sum, { byteLength }) => sum + byteLength, 0);
}
