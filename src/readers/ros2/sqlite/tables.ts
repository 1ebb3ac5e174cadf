import { LogError } from "../../../foundation/errors.ts";
import { RecordDamage } from "../../messages/LogPart.ts";
import type { PageFile } from "./PageFile.ts";
import { gatherRecord, isText, placeValues, type Value, wholeNumber } from "./record.ts";
import { type TableDefinition, tableDefinition } from "./tableDefinition.ts";
import { type Cell, lostPages, walkTable } from "./walkTable.ts";

/** A table: its first page, and what its rows hold. */
export interface Table extends TableDefinition {
  /** as it was written */
  readonly name: string;
  readonly root: number;
}

/** Definitions and metadata are kilobytes; a damaged row may claim anything. */
const longestRow = 64 * 1024 * 1024;
const longestStatement = 1024 * 1024;

/** The list of tables is itself a table: SQLite, Database File Format, section 2.6. */
export const listOfTables: Table = {
  name: "sqlite_schema",
  root: 1,
  ...tableDefinition("CREATE TABLE sqlite_schema(type text, name text, tbl_name text, rootpage integer, sql text)"),
};

/**
 * The tables of a database, by their names in lower case: names do not tell one from the other by case.
 *
 * @throws LogError  code `log-unreadable`: the list of tables cannot be read
 */
export function tablesOf(file: PageFile): { tables: Map<string, Table>; notes: readonly string[] } {
  const tables = new Map<string, Table>();
  const { rows, notes } = readRows(file, listOfTables, ["type", "name", "rootpage", "sql"]);
  if (rows.length === 0 && notes.length > 0)
    throw new LogError(
      "log-unreadable",
      `found an SQLite database whose list of tables cannot be read (${[...file.notes, ...notes].join("; ")})`,
      {
        place: file.path,
        hint: "copy the file again from the recorder",
      },
    );
  for (const { type, name, rootpage, sql } of rows) {
    if (type !== "table" || typeof name !== "string" || typeof rootpage !== "number" || typeof sql !== "string")
      continue;
    // a virtual table has no page
    if (rootpage < 1) continue;
    if (sql.length > longestStatement) {
      notes.push(`table ${name} is left out: its definition has ${sql.length} characters`);
      continue;
    }
    tables.set(name.toLowerCase(), { name, root: rootpage, ...tableDefinition(sql) });
  }
  return { tables, notes };
}

/**
 * The rows of a small table, with the columns asked for; not for the messages.
 *
 * @param wanted  names in lower case
 * @returns text and whole numbers; null for anything else and for an absent column
 */
export function readRows<Name extends string>(
  file: PageFile,
  table: Table,
  wanted: readonly Name[],
): { rows: Record<Name, string | number | null>[]; notes: string[] } {
  const columns = wanted.map((name) => table.columns.get(name) ?? null);
  const length = Math.max(0, ...columns.map((column) => (column?.place ?? -1) + 1));
  const values: Value[] = Array.from({ length }, () => ({ serial: 0, at: 0, bytes: 0 }));
  const decoder = new TextDecoder(file.encoding);
  const rows: Record<Name, string | number | null>[] = [];
  const cells: Cell[] = [];
  const notes = lostPages(
    walkTable(file, table.root, (cell) => void (cell.length <= longestRow && cells.push({ ...cell }))),
  );
  let lost = 0;
  for (const cell of cells) {
    try {
      const bytes = new Uint8Array(cell.length);
      gatherRecord(file, cell, bytes);
      const view = new DataView(bytes.buffer);
      const count = placeValues(view, 0, bytes.length, bytes.length, values);
      const contentOf = (name: Name, k: number): string | number | null => {
        const column = columns[k]!;
        if (column === null) return null;
        if (name === table.rowNumber) return cell.rowid;
        if (column.place >= count) return column.absent;
        const value = values[column.place]!;
        if (isText(value)) return decoder.decode(bytes.subarray(value.at, value.at + value.bytes));
        const number = wholeNumber(view, value);
        return Number.isNaN(number) ? null : number;
      };
      const row = {} as Record<Name, string | number | null>;
      wanted.forEach((name, k) => {
        row[name] = contentOf(name, k);
      });
      rows.push(row);
    } catch (cause) {
      if (!(cause instanceof RecordDamage)) throw cause;
      lost++;
    }
  }
  if (lost > 0) notes.push(`${lost} row(s) cannot be read`);
  return { rows, notes: notes.map((note) => `table ${table.name}: ${note}`) };
}
