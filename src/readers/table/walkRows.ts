import { blank, type CellSink, carriageReturn, LineWalk } from "./LineWalk.ts";
import type { TableLayout } from "./Tabular.ts";

/** What was met on the way, over all blocks of a file. */
export interface RowCount {
  rows: number;
  /** lines with fewer cells than the table has columns */
  uneven: number;
  /** lines with more, or with a quote that is not closed: none of their cells is believed */
  overfull: number;
  /** lines with fewer in a table parted by blanks, where a cell left blank moves the next into its place: not believed either */
  shifted: number;
  /** the last line is not ended, and shorter than the others: it was cut, and is left out */
  cut: boolean;
}

/** "#", "%" or "//" */
function isComment(bytes: Buffer, at: number): boolean {
  const byte = bytes[at]!;
  return byte === 35 || byte === 37 || (byte === 47 && bytes[at + 1] === 47);
}

/**
 * Walks the rows of a block of whole lines and hands the wanted cells to their sinks. A row that ends early leaves its
 * last columns without a value, or all of them where blanks part the cells, since any may be the missing one; a row with
 * more cells than columns (two lines run together, a separator within a text) is without any; empty lines and comments are
 * no rows.
 *
 * @param sinks  by column; null where a column is not wanted
 * @param count  goes on from the block before
 */
export function walkRows(
  bytes: Buffer,
  from: number,
  until: number,
  { layout, sinks, count }: { layout: TableLayout; sinks: readonly (CellSink | null)[]; count: RowCount },
): void {
  const { lineEnd } = layout;
  const walk = new LineWalk(bytes, layout, sinks);
  for (let next = from; next < until; ) {
    let at = next;
    let to = bytes.indexOf(lineEnd, at);
    if (to < 0 || to > until) to = until;
    next = to + 1;
    // two where a line end for Windows went through a stream that adds its own
    while (to > at && bytes[to - 1] === carriageReturn) to--;
    while (at < to && bytes[at] === blank) at++;
    if (at < to && !isComment(bytes, at)) countRow(walk.line(count.rows++, at, to), layout, sinks, count);
  }
}

/** Counts a row by its cells, and has it discarded or its missing cells skipped. */
function countRow(
  { row, column, unclosed, lastIsEmpty }: LineWalk,
  { names, separator }: TableLayout,
  sinks: readonly (CellSink | null)[],
  count: RowCount,
): void {
  const columns = names.length;
  // a separator at the end makes one more, empty cell
  const overfull = unclosed || column > columns + 1 || (column === columns + 1 && !lastIsEmpty);
  const short = column < columns;
  if (overfull) count.overfull++;
  else if (short && separator === "blanks") count.shifted++;
  else {
    if (short) count.uneven++;
    for (let missing = column; missing < sinks.length; missing++) sinks[missing]?.skip(row);
    return;
  }
  for (const sink of sinks) sink?.discard(row);
}
