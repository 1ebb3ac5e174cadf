import { logFormats } from "../../catalogue/logFormats.ts";
import { type ColumnKind, ColumnSink, type ReadColumn } from "./ColumnSink.ts";
import { isText, readDecimal } from "./decimal.ts";
import { readDate } from "./instantCell.ts";
import type { CellSink } from "./LineWalk.ts";
import { type OpenTable, openTable } from "./openTable.ts";
import { ColumnFigures, type ColumnStats, type TableLayout, type Tabular } from "./Tabular.ts";
import { splitLine } from "./tableHeading.ts";
import { type RowCount, walkRows } from "./walkRows.ts";

/**
 * A table written as text, opened.
 *
 * @throws LogError  code `log-unreadable`: see `openTable`
 */
export async function textTable(path: string): Promise<Tabular> {
  const table = openTable(path);
  const { file, layout, sample } = table;
  return {
    path,
    bytes: file.bytes,
    format: logFormats.table.name,
    compression: [],
    names: layout.names,
    units: layout.units,
    lengthUnit: layout.lengthUnit,
    sample: (column) => sample.map((row) => row[column] ?? ""),
    read: async (wanted) => {
      const { columns, ...count } = readColumns(table, wanted);
      const notes = [...columns].flatMap(([column, { texts }]) => textNote(layout.names[column]!, texts));
      notes.push(...rowNotes(count, layout));
      return { rows: count.rows, discarded: count.overfull + count.shifted, columns, notes };
    },
    stats: async () => {
      const sinks = layout.names.map(() => statSink(layout.point));
      const count = walkTable(table, sinks);
      const notes = rowNotes(count, layout);
      return { rows: count.rows, columns: sinks.map((sink) => sink.finish()), notes };
    },
    shape: {
      separator: separatorNames[layout.separator] ?? "blanks",
      decimal: layout.point === 44 ? "comma" : "point",
      preamble: layout.preamble,
      headingLines: layout.headingLines,
    },
    close: () => file.close(),
  };
}

const separatorNames: Readonly<Record<string, string>> = { 9: "tab", 44: "comma", 59: "semicolon", 124: "bar" };

function rowNotes({ rows, uneven, overfull, shifted, cut }: RowCount, { names, nameless }: TableLayout): string[] {
  const columns = names.length;
  const notes: string[] = [];
  if (nameless)
    notes.push(
      `the heading has ${columns - 1} names for ${columns} columns, and nothing tells which has none: columns are called #1 to #${columns}`,
    );
  if (uneven > 0) notes.push(`${uneven} of ${rows} row(s) end before the last of ${columns} columns`);
  if (cut) notes.push("the last line was cut short: left out");
  if (overfull > 0)
    notes.push(
      `${overfull} of ${rows} row(s) have more cells than the ${columns} columns, or a quote that is not closed: left out, for which cell belongs to which column is not known`,
    );
  if (shifted > 0)
    notes.push(
      `${shifted} of ${rows} row(s) have fewer cells than the ${columns} columns: left out, for between blanks an empty cell cannot be seen, and any may be the missing one`,
    );
  return notes;
}

function textNote(name: string, texts: ReadColumn["texts"]): string[] {
  return texts === 0 ? [] : [`the column ${name} holds text in ${texts} row(s) where a number was expected`];
}

/** Takes the figures of a column of text cells; dates count as seconds since 1970. */
function statSink(point: number): CellSink & { finish(): ColumnStats } {
  const figures = new ColumnFigures();
  const instant = { sec: Number.NaN, nsec: Number.NaN };
  // a cell counts once its row is known to hold no more cells than the table has columns
  let value = Number.NaN;
  let kind: "number" | "blank" | "text" | "none" = "none";
  let held = -1;
  const settle = (): void => {
    if (kind === "number") figures.add(value);
    else if (kind === "blank") figures.blank++;
    else if (kind === "text") figures.texts++;
    kind = "none";
  };
  return {
    numbers: null,
    take: (row, bytes, from, to) => {
      settle();
      held = row;
      kind = "number";
      value = readDecimal(bytes, from, to, point);
      if (!Number.isNaN(value)) return;
      if (from === to || !isText(bytes, from, to)) {
        kind = "blank";
        return;
      }
      readDate(Buffer.from(bytes.subarray(from, Math.min(to, from + 64))).toString("latin1"), instant);
      if (Number.isNaN(instant.sec)) kind = "text";
      else value = instant.sec + instant.nsec / 1e9;
    },
    skip: () => {
      settle();
      kind = "blank";
    },
    discard: (row) => {
      if (held !== row) settle();
      kind = "blank";
    },
    finish: () => {
      settle();
      return figures.finish();
    },
  };
}

/** The wanted columns of a table, all of one length. */
interface ReadColumns extends RowCount {
  readonly columns: ReadonlyMap<number, ReadColumn>;
}

/**
 * Reads some columns of a table in one pass; what is not wanted is not parsed.
 *
 * @param wanted  what each column, by its number from 0, is to be read as
 */
function readColumns(table: OpenTable, wanted: ReadonlyMap<number, ColumnKind>): ReadColumns {
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
function walkTable({ file, layout, sample }: OpenTable, sinks: readonly (CellSink | null)[]): RowCount {
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

/**
 * Whether a last line that no line end closes was cut while it was written: it has fewer cells than there are columns, or its
 * last number has fewer digits behind the decimal mark than any other of its column. Many writers leave out the last line
 * end; of a number cut within its digits nothing else tells.
 *
 * @param sample  cells of other lines; its last may be the line itself
 */
function isCut(line: string, layout: TableLayout, sample: readonly (readonly string[])[]): boolean {
  if (line.trim() === "") return false;
  const cells = splitLine(line, layout);
  const columns = layout.names.length;
  if (cells.length < columns) return true;
  const digits = (cell: string | undefined): number => {
    const mark = (cell ?? "").indexOf(String.fromCharCode(layout.point));
    return mark < 0 ? 0 : cell!.length - mark - 1;
  };
  const others = sample.slice(0, -1).filter((row) => row.length === cells.length);
  return others.length > 0 && others.every((row) => digits(row.at(-1)) > digits(cells.at(-1)));
}
