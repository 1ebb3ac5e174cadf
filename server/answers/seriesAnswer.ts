import type { SubjectTrack } from "../../src/alignment/subjectTracks.ts";
import { validFraction } from "../../src/alignment/validFraction.ts";
import type { JudgedIn } from "../../src/catalogue/measures.ts";
import type { SeriesQuery } from "../../src/contract/api/queries.ts";
import type { SeriesAnswer } from "../../src/contract/api/runAnswers.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import { CounterpoiseError } from "../../src/foundation/errors.ts";
import { axes, type PointTrack, type Window } from "../../src/foundation/tracks.ts";
import { trackingError, trackingErrorNorm, vectorLengths } from "../../src/metrics/trackingError.ts";
import { type ErrorSlice, lowerBound, sliceErrors, sliceMeasured } from "../../src/pipeline/windowSlices.ts";
import { type ColumnRun, columnRuns, stretchesOf } from "../drawing/columnRuns.ts";
import type { RunTraces } from "../rememberRuns.ts";

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

type Polylines = SeriesAnswer["path"]["measured"];

/**
 * A path thinned for drawing: of each entry the first and last point and those where an axis is lowest or highest, in the
 * order of time. Every vertex is a sample; polylines end at the gaps.
 */
export function thinPath(track: PointTrack, runs: readonly ColumnRun[]): Polylines {
  const lines: Polylines = [];
  const columns = [track.x, track.y, track.z];
  for (const { from, to, joins } of runs) {
    let line = lines[lines.length - 1];
    if (!joins || line === undefined) {
      line = { t: [], x: [], y: [], z: [] };
      lines.push(line);
    }
    const kept = [from, to - 1];
    for (const column of columns) {
      let low = from;
      let high = from;
      for (let i = from + 1; i < to; i++) {
        if (column[i]! < column[low]!) low = i;
        if (column[i]! > column[high]!) high = i;
      }
      kept.push(low, high);
    }
    for (const row of [...new Set(kept)].sort((a, b) => a - b)) {
      line.t.push(track.t[row]!);
      line.x.push(track.x[row]!);
      line.y.push(track.y[row]!);
      line.z.push(track.z[row]!);
    }
  }
  return lines;
}

type Stretches = SeriesAnswer["stretches"];

/**
 * An error thinned for drawing: per entry the first and last instant and the lowest and highest value of every axis and
 * of the length. Nothing is averaged and nothing left out, so no extreme is hidden.
 *
 * @param error    metres; the rows that `runs` names
 * @param lengths  of the error vector, metres
 */
export function thinError(error: ErrorSlice, lengths: Float64Array, runs: readonly ColumnRun[]): Stretches {
  const stretches: Stretches = [];
  const columns = { x: error.x, y: error.y, z: error.z, norm: lengths };
  const names = ["x", "y", "z", "norm"] as const;
  for (const { from, to, joins } of runs) {
    let stretch = stretches[stretches.length - 1];
    if (!joins || stretch === undefined) {
      const empty = (): { low: number[]; high: number[] } => ({ low: [], high: [] });
      stretch = { start: [], end: [], x: empty(), y: empty(), z: empty(), norm: empty() };
      stretches.push(stretch);
    }
    stretch.start.push(error.t[from]!);
    stretch.end.push(error.t[to - 1]!);
    for (const name of names) {
      const column = columns[name];
      let low = column[from]!;
      let high = low;
      for (let i = from + 1; i < to; i++) {
        const value = column[i]!;
        if (value < low) low = value;
        if (value > high) high = value;
      }
      stretch[name].low.push(low);
      stretch[name].high.push(high);
    }
  }
  return stretches;
}
