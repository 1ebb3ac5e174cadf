import type { TableLayout } from "./TableLayout.ts";

/** Takes the cells of one column, row by row; a row that ended before the column is skipped. */
export interface CellSink {
  take(row: number, bytes: Uint8Array, from: number, to: number): void;
  skip(row: number): void;
}

/** What was met on the way, over all blocks of a file. */
export interface RowCount {
  rows: number;
  /** lines with more or fewer cells than the table has columns (one more: a separator at the end) */
  uneven: number;
}

const quote = 34;
const blank = 32;
const tab = 9;
const carriageReturn = 13;

/**
 * Walks the rows of a block of whole lines and hands the wanted cells to their sinks. A row that ends early leaves its
 * last columns without a value; empty lines and comments are no rows.
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
  const { lineEnd, brackets, names } = layout;
  const blanks = layout.separator === "blanks";
  const separator = blanks ? blank : (layout.separator as number);
  const columns = names.length;
  const last = sinks.findLastIndex((sink) => sink !== null);
  let lineFrom = from;
  while (lineFrom < until) {
    let lineTo = bytes.indexOf(lineEnd, lineFrom);
    if (lineTo < 0 || lineTo > until) lineTo = until;
    const next = lineTo + 1;
    if (lineTo > lineFrom && bytes[lineTo - 1] === carriageReturn) lineTo--;
    let at = lineFrom;
    lineFrom = next;
    while (at < lineTo && bytes[at] === blank) at++;
    if (at >= lineTo || bytes[at] === 35 || bytes[at] === 37) continue;
    const row = count.rows++;
    let column = 0;
    for (; column < brackets; column++) {
      while (at < lineTo && bytes[at] === blank) at++;
      const close = bytes[at] === 91 ? bytes.indexOf(93, at) : -1;
      if (close < 0 || close >= lineTo) break;
      if (column <= last) sinks[column]?.take(row, bytes, at + 1, close);
      at = close + 1;
    }
    // without its brackets a line is of another kind: its cells would fall into the wrong columns
    let ended = column < brackets;
    while (column <= last && !ended) {
      while (at < lineTo && (bytes[at] === blank || (bytes[at] === tab && separator !== tab))) at++;
      let cellFrom = at;
      let cellTo: number;
      if (bytes[at] === quote && at < lineTo) {
        let close = bytes.indexOf(quote, at + 1);
        if (close < 0 || close > lineTo) close = lineTo;
        cellFrom = at + 1;
        cellTo = close;
        at = close;
        while (at < lineTo && bytes[at] !== separator) at++;
      } else {
        while (at < lineTo && bytes[at] !== separator && (!blanks || bytes[at] !== tab)) at++;
        cellTo = at;
      }
      ended = at >= lineTo;
      const sink = sinks[column]!;
      if (sink !== null) {
        while (cellTo > cellFrom && (bytes[cellTo - 1] === blank || bytes[cellTo - 1] === tab)) cellTo--;
        sink.take(row, bytes, cellFrom, cellTo);
      }
      at++;
      column++;
    }
    if (ended && column < columns) count.uneven++;
    for (; column <= last; column++) sinks[column]?.skip(row);
  }
}
