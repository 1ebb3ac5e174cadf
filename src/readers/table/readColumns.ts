import { type ColumnKind, ColumnSink, type ReadColumn } from "./ColumnSink.ts";
import { isCut } from "./isCut.ts";
import type { OpenTable } from "./openTable.ts";
import { type CellSink, type RowCount, walkRows } from "./walkRows.ts";

/** The wanted columns of a table, all of one length. */
export interface ReadColumns extends RowCount {
  readonly columns: ReadonlyMap<number, ReadColumn>;
}

/**
 * Reads some columns of a table in one pass; what is not wanted is not parsed.
 *
 * @param wanted  what each column, by its number from 0, is to be read as
 */
export function readColumns(table: OpenTable, wanted: ReadonlyMap<number, ColumnKind>): ReadColumns {
  const { file, layout, sample } = table;
  const lineLength = sample.reduce((sum, row) => sum + row.reduce((length, cell) => length + cell.length + 1, 0), 0);
  const capacity = Math.ceil((1.05 * file.bytes) / Math.max(8, lineLength / Math.max(1, sample.length)));
  const sinks = layout.names.map((_, column): ColumnSink | null => {
    const kind = wanted.get(column);
    return kind === undefined ? null : new ColumnSink(kind, { capacity, point: layout.point });
  });
  const count = walkTable(table, sinks);
  const columns = new Map([...wanted.keys()].map((column) => [column, sinks[column]!.finish(count.rows)]));
  return { ...count, columns };
}

/** Walks all rows of a table, past its heading. */
export function walkTable({ file, layout, sample }: OpenTable, sinks: readonly (CellSink | null)[]): RowCount {
  const count: RowCount = { rows: 0, uneven: 0, overfull: 0, shifted: 0, cut: false };
  let skip = layout.preamble + layout.headingLines;
  file.blocks(layout.lineEnd, (bytes, from, until) => {
    let at = from;
    for (; skip > 0 && at < until; skip--) {
      const end = bytes.indexOf(layout.lineEnd, at);
      at = end < 0 || end >= until ? until : end + 1;
    }
    let end = until;
    // only the file's last block does not end with a line
    if (bytes[until - 1] !== layout.lineEnd) {
      const last = Math.max(at, bytes.lastIndexOf(layout.lineEnd, until - 1) + 1);
      count.cut = isCut(bytes.toString("latin1", last, until), layout, sample);
      if (count.cut) end = last;
    }
    walkRows(bytes, at, end, { layout, sinks, count });
  });
  return count;
}
