import type { SeriesAnswer } from "../../src/contract/api/runAnswers.ts";
import type { ErrorSlice } from "../../src/pipeline/windowSlices.ts";
import type { ColumnRun } from "./columnRuns.ts";

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
