import type { AlignedRun } from "../../alignment/alignRun.ts";
import type { SubjectTrack } from "../../alignment/subjectTracks.ts";
import type { PathEvaluation } from "../../contract/runExtras.ts";
import type { Settings } from "../../contract/settings.ts";
import { type Axis, type PointTrack, type Subject, subjects, type Window } from "../../foundation/tracks.ts";
import { contourDistance } from "../../metrics/contourDistance.ts";
import { contourFigures, pathAccuracy } from "../../metrics/pathAccuracy.ts";
import { pathSpeeds, pathVelocity } from "../../metrics/pathVelocity.ts";
import { type Crossings, planeCrossings } from "../../metrics/planeCrossings.ts";
import { difference } from "../../numeric/sortedColumns.ts";
import { lowerBound, sliceErrors, sliceMeasured } from "../windowSlices.ts";
import { intervalOf, some } from "./common.ts";

/**
 * Path measures of each subject whose command moves: over the whole cycles that begin after the start-up has settled, as
 * many as a third of them left out at most.
 */
export function measurePath(run: AlignedRun, settings: Settings): PathEvaluation | null {
  if (run.cycles.length === 0) return null;
  const found: PathEvaluation = {};
  const length = run.cycles[0]![1] - run.cycles[0]![0];
  const leftOut = Math.min(Math.ceil(settings.harmonic_settle / length), Math.floor(run.cycles.length / 3));
  const cycles = run.cycles.slice(leftOut);
  const window = run.period === null ? settings.path_window : settings.path_window_share * run.period;
  for (const subject of subjects) {
    const track = run.subjects[subject];
    if (track === undefined) continue;
    const whole: Window = [cycles[0]![0], cycles.at(-1)![1]];
    const command = cutTrack(track.command, [whole[0] - window, whole[1] + window]);
    const way = travelled(command, whole);
    if (way < settings.path_least_length * cycles.length) continue;
    const slice = sliceMeasured(track, whole);
    const thinned = everyNth(slice, Math.ceil(slice.t.length / settings.path_samples));
    const contour = contourFigures(contourDistance(thinned.t, thinned, command, { window }));
    if (contour === null) continue;
    const longestStep = settings.gap_intervals * intervalOf(run, subject);
    // what comes after the last cycle is its stop: points that a late motion reaches only then are not reached
    const until = sliceMeasured(track, [whole[0] - window, whole[1]]);
    const off = planeCrossings(until.t, until, command, cycles, {
      points: settings.path_points,
      window,
      longestStep,
      slowest: settings.path_slowest,
    });
    const figures = pathAccuracy(off);
    const velocity = velocityOf(track, cycles, off, { before: window, longestStep }, settings);
    found[subject] = {
      cycles: cycles.length,
      cycles_left_out: leftOut,
      window,
      contour,
      accuracy: figures?.accuracy ?? null,
      repeatability: figures?.repeatability ?? null,
      points: figures?.points ?? 0,
      points_of: settings.path_points,
      velocity,
    };
  }
  return some(found);
}

/** Every n-th sample: an hour of flight tells its distance from the path by a part of its samples as well as by all. */
function everyNth<T extends { readonly t: Float64Array } & Record<Axis, Float64Array>>(slice: T, n: number): T {
  if (n <= 1) return slice;
  const rows = Math.ceil(slice.t.length / n);
  const of = (column: Float64Array): Float64Array => {
    const kept = new Float64Array(rows);
    for (let i = 0; i < rows; i++) kept[i] = column[i * n]!;
    return kept;
  };
  return { ...slice, t: of(slice.t), x: of(slice.x), y: of(slice.y), z: of(slice.z) };
}

function velocityOf(
  track: SubjectTrack,
  cycles: readonly Window[],
  crossings: Crossings,
  { before, longestStep }: { before: number; longestStep: number },
  settings: Settings,
): NonNullable<PathEvaluation[Subject]>["velocity"] {
  const within: Window = [cycles[0]![0] - before, cycles.at(-1)![1]];
  const measured = sliceMeasured(track, within);
  const asked = askedOf(measured, sliceErrors(track, within));
  const options = { along: crossings.along, span: settings.path_speed_span, longestStep };
  const { points, t: crossed } = crossings;
  const stated = cycles.map(([from, to]) =>
    Float64Array.from({ length: points }, (_, p) => from + ((to - from) * (p + 0.5)) / points),
  );
  // attained where a point was reached, commanded where it was reported: at one instant a late motion is elsewhere on the path
  const found = pathVelocity(
    cycles.map((_, c) => pathSpeeds(measured.t, measured, crossed.subarray(c * points, (c + 1) * points), options)),
    stated.map((at) => pathSpeeds(measured.t, asked, at, options)),
  );
  if (found === null) return null;
  const { accuracy, repeatability, fluctuation, commanded } = found;
  // the denominator of AV and RV itself, not length over time: where the path turns back no speed is known along it
  return { accuracy, repeatability, fluctuation, commanded };
}

/** What was asked for at the samples: measured less error. */
function askedOf(measured: Record<Axis, Float64Array>, error: Record<Axis, Float64Array>): Record<Axis, Float64Array> {
  return {
    x: difference(measured.x, error.x),
    y: difference(measured.y, error.y),
    z: difference(measured.z, error.z),
  };
}

/** The points of a curve within a window, and one on either side. */
function cutTrack({ t, x, y, z }: PointTrack, [from, to]: Window): PointTrack {
  const a = Math.max(0, lowerBound(t, from) - 1);
  const b = Math.min(t.length, lowerBound(t, to) + 1);
  return { t: t.subarray(a, b), x: x.subarray(a, b), y: y.subarray(a, b), z: z.subarray(a, b) };
}

/** Length of the command within a window, metres. */
function travelled({ t, x, y, z }: PointTrack, [from, to]: Window): number {
  let length = 0;
  for (let k = Math.max(1, lowerBound(t, from)); k < t.length && t[k]! <= to; k++) {
    const dx = x[k]! - x[k - 1]!;
    const dy = y[k]! - y[k - 1]!;
    const dz = z[k]! - z[k - 1]!;
    const step = Math.sqrt(dx * dx + dy * dy + dz * dz);
    // what was not commanded has no length
    if (step > 0) length += step;
  }
  return length;
}
