import type { AlignedRun } from "../src/alignment/alignRun.ts";
import { meanYaw } from "../src/alignment/meanYaw.ts";
import type { SubjectTrack } from "../src/alignment/subjectTracks.ts";
import { subjects } from "../src/foundation/signals.ts";
import type { Radians } from "../src/foundation/units.ts";

/** What is kept of an aligned run for drawing: its subjects' tracks and windows, and which way it faced. */
export interface RunTraces extends Pick<AlignedRun, "subjects" | "cycles" | "hold" | "intervals" | "judgedIn"> {
  /** mean yaw measured and commanded, in the hold or else the cycles, in the axes of the tracks; null where none is known */
  readonly facing: { readonly measured: Radians | null; readonly commanded: Radians | null };
}

/** Lets go of all that is not drawn. */
export function tracesOf(run: AlignedRun): RunTraces {
  const { subjects: tracks, cycles, hold, intervals, judgedIn, vehicle, setpoint, scored } = run;
  const window = hold ?? scored;
  const facing = {
    measured: vehicle === null ? null : meanYaw(vehicle, window),
    commanded: setpoint === null || setpoint.attitude === "level" ? null : meanYaw(setpoint, window),
  };
  return { subjects: tracks, cycles, hold, intervals, judgedIn, facing };
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
