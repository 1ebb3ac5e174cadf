import { freePages } from "./sqlite/freePages.ts";
import type { PageFile } from "./sqlite/PageFile.ts";
import { isBlob, placeValues, type Value, wholeNumber } from "./sqlite/record.ts";
import { strayLeaves } from "./sqlite/strayLeaves.ts";
import { listOfTables, type Table } from "./sqlite/tables.ts";
import type { Cell, Walk } from "./sqlite/walkTable.ts";

/** Where messages lie that nothing links to any more, or why they were not looked for. */
export type StrayMessages = { readonly pages: readonly number[] } | { readonly obstacle: string };

/**
 * Looks for pages of messages that a damaged file no longer links to: only where no other table's rows can look like messages.
 *
 * @param tables  all tables of the file; null where the list of them is damaged
 * @param topics  the known numbers of topics
 * @param walk    what became of the walk of the linked pages
 */
export function strayMessages(
  file: PageFile,
  messages: Table,
  tables: readonly Table[] | null,
  topics: ReadonlyMap<number, unknown>,
  walk: Walk,
): StrayMessages {
  if (tables === null) return { obstacle: "the list of tables is damaged" };
  if (topics.size === 0) return { obstacle: "no topic is known" };
  for (const other of [listOfTables, ...tables])
    if (other !== messages && looksAlike(other, messages))
      return { obstacle: `rows of the table ${other.name} could look the same` };
  const free = freePages(file);
  if (free === null) return { obstacle: "the list of unused pages, which may hold deleted rows, cannot be read" };
  return { pages: strayLeaves(file, walk.pages, free, messageRow(messages)) };
}

/**
 * Whether a table could hold whole numbers where messages have their topic and time: a column of text never does, nor one that stands
 * for the row's number, nor one that is not there.
 */
function looksAlike(other: Table, messages: Table): boolean {
  if (other.withoutRowid || other.columns.size < messages.columns.size) return false;
  const columns = [...other.columns];
  return ["topic_id", "timestamp"].every((name) => {
    const [own, column] = columns[messages.columns.get(name)!.place] ?? [];
    return column !== undefined && column.affinity !== "text" && own !== other.rowNumber;
  });
}

/** Whether a row has as many values as messages have, of their kinds, and nothing behind them. */
function messageRow(messages: Table): (cell: Cell, view: DataView, pageStart: number) => boolean {
  const width = messages.columns.size;
  // one more than there are, to see that it is not there
  const values: Value[] = Array.from({ length: width + 1 }, () => ({ serial: 0, at: 0, bytes: 0 }));
  const valueFor = (name: string): Value => values[messages.columns.get(name)!.place]!;
  const [topic, time, data] = [valueFor("topic_id"), valueFor("timestamp"), valueFor("data")];
  const number = messages.rowNumber === null ? null : valueFor(messages.rowNumber);
  const last = values[width - 1]!;
  return (cell, view, pageStart) => {
    const at = pageStart + cell.offset;
    const here = at + cell.local;
    if (placeValues(view, at, here, at + cell.length, values) !== width) return false;
    if (last.at + last.bytes !== at + cell.length || (number !== null && number.serial !== 0)) return false;
    if (topic.at + topic.bytes > here || time.at + time.bytes > here || !isBlob(data)) return false;
    return !Number.isNaN(wholeNumber(view, topic)) && !Number.isNaN(wholeNumber(view, time));
  };
}
