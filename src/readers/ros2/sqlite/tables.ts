import { LogError } from "../../../foundation/errors.ts";
import { RecordDamage } from "../../messages/RecordDamage.ts";
import type { PageFile } from "./PageFile.ts";
import { isText, placeValues, type Value, wholeNumber } from "./record.ts";
import { type Cell, gatherRecord, walkTable } from "./walkTable.ts";

/** A table: its first page, and where in its rows each column stands. */
export interface Table {
  readonly root: number;
  readonly columns: ReadonlyMap<string, number>;
}

/** Definitions and metadata are kilobytes; a damaged row may claim anything. */
const longestRow = 64 * 1024 * 1024;

/**
 * The tables of a database, by name.
 *
 * @throws LogError  code `log-unreadable`: the list of tables cannot be read
 */
export function tablesOf(file: PageFile): Map<string, Table> {
  const tables = new Map<string, Table>();
  const { rows, notes } = readRows(
    file,
    { root: 1, columns: new Map(schemaColumns.map((name, k) => [name, k])) },
    schemaColumns,
  );
  if (rows.length === 0 && notes.length > 0)
    throw new LogError("log-unreadable", `found an SQLite database whose list of tables cannot be read (${notes[0]})`, {
      place: file.path,
      hint: "copy the file again from the recorder",
    });
  for (const { type, name, rootpage, sql } of rows) {
    if (type !== "table" || typeof name !== "string" || typeof rootpage !== "number" || typeof sql !== "string")
      continue;
    // a table without rowids is laid out as an index
    if (/without\s+rowid\s*(,\s*strict\s*)?$/i.test(sql)) continue;
    tables.set(name, { root: rootpage, columns: columnsOf(sql) });
  }
  return tables;
}

const schemaColumns = ["type", "name", "tbl_name", "rootpage", "sql"] as const;

/** Columns by their place, from the statement that made the table. */
function columnsOf(sql: string): Map<string, number> {
  const open = sql.indexOf("(");
  const columns = new Map<string, number>();
  let depth = 0;
  let start = open + 1;
  const take = (end: number): void => {
    const found = /^\s*(?:"((?:[^"]|"")*)"|\[([^\]]*)\]|`([^`]*)`|([A-Za-z_]\w*))/.exec(sql.slice(start, end));
    const bare = found?.[4];
    const name = found?.[1] ?? found?.[2] ?? found?.[3] ?? bare;
    if (name !== undefined && !(bare !== undefined && /^(constraint|primary|unique|check|foreign)$/i.test(bare)))
      columns.set(name.toLowerCase(), columns.size);
    start = end + 1;
  };
  for (let at = open; at >= 0 && at < sql.length; at++) {
    if (sql[at] === "(") depth++;
    else if (sql[at] === ")") {
      if (--depth === 0) {
        take(at);
        break;
      }
    } else if (sql[at] === "," && depth === 1) take(at);
  }
  return columns;
}

/**
 * The rows of a small table, with the columns asked for; not for the messages.
 *
 * @returns text and whole numbers; null for anything else, for an absent column, and `rowid` for the row's number
 */
export function readRows<Name extends string>(
  file: PageFile,
  table: Table,
  wanted: readonly Name[],
): { rows: Record<Name | "rowid", string | number | null>[]; notes: string[] } {
  const places = wanted.map((name) => table.columns.get(name) ?? -1);
  const values: Value[] = Array.from({ length: Math.max(0, ...places) + 1 }, () => ({ serial: 0, at: 0, bytes: 0 }));
  const decoder = new TextDecoder(file.encoding);
  const rows: Record<Name | "rowid", string | number | null>[] = [];
  const cells: Cell[] = [];
  const notes = walkTable(file, table.root, (cell) => void (cell.length <= longestRow && cells.push({ ...cell })));
  let lost = 0;
  for (const cell of cells) {
    try {
      const bytes = new Uint8Array(cell.length);
      gatherRecord(file, cell, bytes);
      const view = new DataView(bytes.buffer);
      const count = placeValues(view, 0, bytes.length, bytes.length, values);
      const row = { rowid: cell.rowid } as Record<Name | "rowid", string | number | null>;
      wanted.forEach((name, k) => {
        const value = places[k]! >= 0 && places[k]! < count ? values[places[k]!]! : null;
        const number = value === null ? Number.NaN : wholeNumber(view, value);
        if (value !== null && isText(value))
          row[name] = decoder.decode(bytes.subarray(value.at, value.at + value.bytes));
        else row[name] = Number.isNaN(number) ? null : number;
      });
      rows.push(row);
    } catch (cause) {
      if (!(cause instanceof RecordDamage)) throw cause;
      lost++;
    }
  }
  if (lost > 0) notes.push(`${lost} row(s) cannot be read`);
  return { rows, notes };
}
