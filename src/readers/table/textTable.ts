import type { ReadColumn } from "./ColumnSink.ts";
import { openTable } from "./openTable.ts";
import { readColumns, walkTable } from "./readColumns.ts";
import { statSink } from "./statSink.ts";
import type { TableLayout } from "./TableLayout.ts";
import type { Tabular } from "./Tabular.ts";
import type { RowCount } from "./walkRows.ts";

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
    format: "table",
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
      `${overfull} of ${rows} row(s) have more cells than the ${columns} columns, or a quote that is not closed: left out, for which cell belongs to which column cannot be told`,
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
