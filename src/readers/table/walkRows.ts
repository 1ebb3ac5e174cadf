import { exactDigits, exactPowers } from "./decimal.ts";
import type { GrowingColumn } from "./GrowingColumn.ts";
import type { TableLayout } from "./TableLayout.ts";

/** Takes the cells of one column, row by row; a row that ended before the column is skipped. */
export interface CellSink {
  /** takes plain numbers without a word to the sink; null where it wants to see every cell */
  readonly numbers: GrowingColumn | null;
  take(row: number, bytes: Uint8Array, from: number, to: number): void;
  skip(row: number): void;
  /** The row turned out to have more cells than the table has columns: what was taken of it may be another column's. */
  discard(row: number): void;
}

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

const minus = 45;
const quote = 34;
const blank = 32;
const tab = 9;
const carriageReturn = 13;

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
  const { lineEnd, brackets, names } = layout;
  const blanks = layout.separator === "blanks";
  const separator = blanks ? blank : (layout.separator as number);
  const columns = names.length;
  const last = sinks.findLastIndex((sink) => sink !== null);
  const direct = sinks.map((sink) => sink?.numbers ?? null);
  const { point } = layout;
  let lineFrom = from;
  while (lineFrom < until) {
    let lineTo = bytes.indexOf(lineEnd, lineFrom);
    if (lineTo < 0 || lineTo > until) lineTo = until;
    const next = lineTo + 1;
    // two where a line end for Windows went through a stream that adds its own
    while (lineTo > lineFrom && bytes[lineTo - 1] === carriageReturn) lineTo--;
    let at = lineFrom;
    lineFrom = next;
    while (at < lineTo && bytes[at] === blank) at++;
    if (at >= lineTo || isComment(bytes, at)) continue;
    const row = count.rows++;
    let column = 0;
    for (; column < brackets; column++) {
      while (at < lineTo && bytes[at] === blank) at++;
      if (bytes[at] !== 91) break;
      let close = at + 1;
      while (close < lineTo && bytes[close] !== 93) close++;
      if (close >= lineTo) break;
      if (column <= last) sinks[column]?.take(row, bytes, at + 1, close);
      at = close + 1;
    }
    // without its brackets a line is of another kind: its cells would fall into the wrong columns
    let ended = column < brackets;
    let unclosed = false;
    let lastIsEmpty = false;
    while (!ended) {
      while (at < lineTo && (bytes[at] === blank || (bytes[at] === tab && separator !== tab))) at++;
      // most cells are plain numbers: read as their end is looked for, by the rule of `readDecimal` for short ones
      const plain = column <= last ? direct[column]! : null;
      if (plain !== null) {
        let from = at;
        const negative = bytes[from] === minus;
        if (negative) from++;
        let digits = 0;
        let decimals = -1;
        let value = 0;
        for (; from < lineTo; from++) {
          const byte = bytes[from]!;
          if (byte >= 48 && byte <= 57) {
            value = value * 10 + (byte - 48);
            digits++;
          } else if (byte === point && decimals < 0) decimals = digits;
          else break;
        }
        if (digits > 0 && digits <= exactDigits && (from >= lineTo || bytes[from] === separator)) {
          if (decimals >= 0) value /= exactPowers[digits - decimals]!;
          plain.set(row, negative ? -value : value);
          ended = from >= lineTo;
          lastIsEmpty = false;
          at = from + 1;
          column++;
          continue;
        }
      }
      let cellFrom = at;
      let cellTo: number;
      if (bytes[at] === quote && at < lineTo) {
        let close = at + 1;
        // a doubled quote is a quote within the text
        for (; close < lineTo; close++) {
          if (bytes[close] !== quote) continue;
          // what stands behind the line is another's, or left from the block before
          if (close + 1 >= lineTo || bytes[close + 1] !== quote) break;
          close++;
        }
        if (close >= lineTo) {
          close = lineTo;
          unclosed = true;
        }
        cellFrom = at + 1;
        cellTo = close;
        at = close;
        while (at < lineTo && bytes[at] !== separator) at++;
      } else {
        while (at < lineTo && bytes[at] !== separator && (!blanks || bytes[at] !== tab)) at++;
        cellTo = at;
      }
      ended = at >= lineTo;
      lastIsEmpty = cellTo === cellFrom;
      const sink = column <= last ? sinks[column]! : null;
      if (sink !== null) {
        while (cellTo > cellFrom && (bytes[cellTo - 1] === blank || bytes[cellTo - 1] === tab)) cellTo--;
        sink.take(row, bytes, cellFrom, cellTo);
      }
      at++;
      column++;
    }
    // a separator at the end makes one more, empty cell
    if (unclosed || column > columns + 1 || (column === columns + 1 && !lastIsEmpty)) {
      count.overfull++;
      for (const sink of sinks) sink?.discard(row);
      continue;
    }
    if (column < columns && blanks) {
      count.shifted++;
      for (const sink of sinks) sink?.discard(row);
      continue;
    }
    if (column < columns) count.uneven++;
    for (; column <= last; column++) sinks[column]?.skip(row);
  }
}
