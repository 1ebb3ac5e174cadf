import type { SubjectTrack } from "../../src/alignment/subjectTracks.ts";
import { validFraction } from "../../src/alignment/validFraction.ts";
import type { JudgedIn } from "../../src/catalogue/axes.ts";
import type { SeriesQuery } from "../../src/contract/api/queries.ts";
import type { SeriesAnswer } from "../../src/contract/api/runAnswers.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import { CounterpoiseError } from "../../src/foundation/errors.ts";
import { axes } from "../../src/foundation/signals.ts";
import type { PointTrack, Window } from "../../src/foundation/tracks.ts";
import { trackingError, trackingErrorNorm, vectorLengths } from "../../src/metrics/trackingError.ts";
import { lowerBound, sliceErrors, sliceMeasured } from "../../src/pipeline/windowSlices.ts";
import { columnRuns } from "../drawing/columnRuns.ts";
import { stretchesOf } from "../drawing/stretchesOf.ts";
import { thinError } from "../drawing/thinError.ts";
import { thinPath } from "../drawing/thinPath.ts";
import type { RunTraces } from "../RunTraces.ts";

/** a path keeps up to eight points of a column: fewer columns make as long an answer */
const pointsPerPathColumn = 4;

/**
 * Error, path and figures of one subject in a window.
 *
 * @throws CounterpoiseError  code `bad-query`: the window lies outside what was recorded
 */
export function seriesAnswer(run: string, traces: RunTraces, track: SubjectTrack, query: SeriesQuery): SeriesAnswer {
  const { subject, points } = query;
  const interval = traces.intervals[subject === "effector" ? "effector" : "vehicle"] ?? Number.NaN;
  const gap = defaultSettings.gap_intervals * interval;
  const extent = extentOf(track, interval);
  const window: Window = [query.from ?? extent[0], query.to ?? extent[1]];
  if (!(window[0] < window[1]) || window[0] >= extent[1] || window[1] <= extent[0]) {
    throw new CounterpoiseError(
      "bad-query",
      `found the window ${window[0]} to ${window[1]} s, expected one that meets ${extent[0]} to ${extent[1]} s`,
      { place: query.from === undefined ? "to" : "from" },
    );
  }
  const error = sliceErrors(track, window);
  const lengths = vectorLengths(error.x, error.y, error.z);
  const stretches = stretchesOf(error.t, 0, error.t.length, gap);
  const pathColumns = Math.max(1, Math.round(points / pointsPerPathColumn));
  return {
    run,
    subject,
    frame: frameOf(subject, traces),
    extent,
    window: [...window],
    stretches: thinError(error, lengths, columnRuns(error.t, stretches, window, points)),
    figures: figuresOf(error, lengths, validFraction(error.t, interval, window, defaultSettings.gap_intervals)),
    path: {
      measured: thinPath(sliceMeasured(track, window), columnRuns(error.t, stretches, window, pathColumns)),
      command: commandPath(track.command, window, pathColumns),
    },
  };
}

/** The frame in which a subject's positions and errors stand. */
export function frameOf(subject: string, { judgedIn }: Pick<RunTraces, "judgedIn">): JudgedIn {
  return subject === "arm" ? "vehicle" : judgedIn;
}

/** First instant, and one interval after the last: every sample stands for one interval. */
function extentOf({ t }: SubjectTrack, interval: number): [number, number] {
  return [t[0]!, t[t.length - 1]! + (interval > 0 ? interval : 1e-6)];
}

function figuresOf(
  error: { x: Float64Array; y: Float64Array; z: Float64Array; t: Float64Array },
  lengths: Float64Array,
  valid: number,
): SeriesAnswer["figures"] {
  const own = axes.map((axis) => trackingError(error[axis])).filter((figure) => figure !== null);
  const [x, y, z] = own;
  if (x === undefined || y === undefined || z === undefined) return null;
  return { n: error.t.length, valid_fraction: valid, x, y, z, norm: trackingErrorNorm(own, lengths)! };
}

/** The command's own points in the window, and one on either side so that its line reaches the edges; NaN parts it. */
function commandPath(command: PointTrack, window: Window, columns: number): SeriesAnswer["path"]["command"] {
  const { t, x, y, z } = command;
  const from = Math.max(0, lowerBound(t, window[0]) - 1);
  const to = Math.min(t.length, lowerBound(t, window[1]) + 1);
  const stretches: { from: number; to: number }[] = [];
  let start = -1;
  for (let i = from; i <= to; i++) {
    const given = i < to && Number.isFinite(t[i]! + x[i]! + y[i]! + z[i]!);
    if (given && start < 0) start = i;
    if (given || start < 0) continue;
    stretches.push({ from: start, to: i });
    start = -1;
  }
  return thinPath(command, columnRuns(t, stretches, window, columns));
}
