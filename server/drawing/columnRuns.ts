import type { Window } from "../../src/foundation/tracks.ts";

/** Rows that fall into one column of a drawing. `joins`: the line may go on from the entry before. */
export interface ColumnRun extends Stretch {
  readonly joins: boolean;
}

/**
 * Sorts stretches into the columns of a drawing: at most three entries a column, however many gaps it holds.
 *
 * An entry joins the one before only where no gap lies between them. What lies between two gaps of the same column is one
 * entry that joins neither side: it is narrower than the column, so nothing is drawn across a gap.
 *
 * @param t        instants, seconds, increasing
 * @param window   what the columns divide evenly
 * @param columns  how many there are
 */
export function columnRuns(
  t: Float64Array,
  stretches: readonly Stretch[],
  window: Window,
  columns: number,
): ColumnRun[] {
  const [start, end] = window;
  const scale = columns / (end - start);
  const columnOf = (row: number): number => Math.min(columns - 1, Math.max(0, Math.floor((t[row]! - start) * scale)));
  const runs: ColumnRun[] = [];
  // the entry of stretches that lie wholly within the column at hand
  let inner: { column: number; from: number; to: number } | null = null;
  const close = (): void => {
    if (inner !== null) runs.push({ from: inner.from, to: inner.to, joins: false });
    inner = null;
  };
  for (const stretch of stretches) {
    const first = columnOf(stretch.from);
    if (first === columnOf(stretch.to - 1)) {
      if (inner !== null && (inner as { column: number }).column === first)
        inner = { ...(inner as Inner), to: stretch.to };
      else {
        close();
        inner = { column: first, from: stretch.from, to: stretch.to };
      }
      continue;
    }
    close();
    let from = stretch.from;
    while (from < stretch.to) {
      const column = columnOf(from);
      let to = from + 1;
      while (to < stretch.to && columnOf(to) === column) to++;
      runs.push({ from, to, joins: from > stretch.from });
      from = to;
    }
  }
  close();
  return runs;
}

type Inner = { column: number; from: number; to: number };

/** Rows `from` to `to` (not included) of a track without a gap between them. */
interface Stretch {
  readonly from: number;
  readonly to: number;
}

/**
 * Cuts rows at the gaps: where two neighbouring instants lie further apart than `widest`.
 *
 * @param t       instants, seconds, increasing
 * @param from    first row
 * @param to      row after the last
 * @param widest  seconds; NaN or infinity: nothing is a gap
 */
export function stretchesOf(t: Float64Array, from: number, to: number, widest: number): Stretch[] {
  const stretches: Stretch[] = [];
  let start = from;
  for (let i = from + 1; i < to; i++) {
    if (t[i]! - t[i - 1]! <= widest || !Number.isFinite(widest)) continue;
    stretches.push({ from: start, to: i });
    start = i;
  }
  if (to > start) stretches.push({ from: start, to });
  return stretches;
}
