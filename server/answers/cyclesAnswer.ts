import type { SubjectTrack } from "../../src/alignment/subjectTracks.ts";
import type { CyclesAnswer, HoverAnswer } from "../../src/contract/api/runAnswers.ts";
import type { Subject } from "../../src/foundation/signals.ts";
import { sliceErrors } from "../../src/pipeline/windowSlices.ts";
import { foldCycles } from "../drawing/foldCycles.ts";
import type { RunTraces } from "../RunTraces.ts";
import { frameOf } from "./seriesAnswer.ts";

const mostBins = 120;
const fewestBins = 8;

/** The error over cycle phase. Without a wish there are at least two samples a bin, as far as the rate allows. */
export function cyclesAnswer(
  run: string,
  traces: RunTraces,
  track: SubjectTrack,
  { subject, points }: { subject: Subject; points: number | undefined },
): CyclesAnswer {
  const { cycles, intervals } = traces;
  const interval = intervals[subject === "effector" ? "effector" : "vehicle"] ?? Number.NaN;
  const first = cycles[0];
  const samples = first === undefined ? 0 : (first[1] - first[0]) / interval;
  const usual = Number.isFinite(samples) ? Math.min(mostBins, Math.max(fewestBins, Math.floor(samples / 2))) : mostBins;
  const error = { t: track.t, ...track.error };
  return { run, subject, frame: frameOf(subject, traces), ...foldCycles(error, cycles, points ?? usual) };
}

/** Errors of the hold window for a scatter, evenly thinned. */
export function hoverAnswer(
  run: string,
  traces: RunTraces,
  track: SubjectTrack,
  { subject, points }: { subject: Subject; points: number },
): HoverAnswer {
  const { hold } = traces;
  const slice = hold === null ? null : sliceErrors(track, hold);
  const n = slice?.t.length ?? 0;
  const every = Math.max(1, Math.ceil(n / points));
  const thin = (column: Float64Array | undefined): number[] =>
    column === undefined ? [] : Array.from({ length: Math.ceil(n / every) }, (_, k) => column[k * every]!);
  return {
    run,
    subject,
    frame: frameOf(subject, traces),
    window: hold === null ? null : [...hold],
    n,
    every,
    t: thin(slice?.t),
    x: thin(slice?.x),
    y: thin(slice?.y),
    z: thin(slice?.z),
  };
}
