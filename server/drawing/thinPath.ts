import type { SeriesAnswer } from "../../src/contract/api/runAnswers.ts";
import type { PointTrack } from "../../src/foundation/tracks.ts";
import type { ColumnRun } from "./columnRuns.ts";

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
