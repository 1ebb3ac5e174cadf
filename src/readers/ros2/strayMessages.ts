import { RecordDamage } from "../messages/LogPart.ts";
import type { PageFile } from "./sqlite/PageFile.ts";
import { isBlob, placeValues, type Value, wholeNumber } from "./sqlite/record.ts";
import { listOfTables, type Table } from "./sqlite/tables.ts";
import { type Cell, isLeaf, type Walk, walkPage } from "./sqlite/walkTable.ts";

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

/**
 * Pages that a database no longer uses; they may still hold rows that were deleted.
 *
 * @returns null where the list of them cannot be read to its end
 * @source SQLite, Database File Format, section 1.5 (the freelist)
 */
function freePages(file: PageFile): ReadonlySet<number> | null {
  const free = new Set<number>();
  try {
    const first = file.page(1);
    const count = first.view.getUint32(first.at + 36);
    if (count > file.pages) return null;
    let trunk = first.view.getUint32(first.at + 32);
    while (trunk !== 0) {
      const { view, at } = file.page(trunk);
      const leaves = view.getUint32(at + 4);
      if (free.has(trunk) || leaves > file.usable / 4 - 2) return null;
      free.add(trunk);
      for (let k = 0; k < leaves; k++) free.add(view.getUint32(at + 8 + 4 * k));
      if (free.size > count) return null;
      trunk = view.getUint32(at);
    }
    return free.size === count ? free : null;
  } catch (cause) {
    if (!(cause instanceof RecordDamage)) throw cause;
    return null;
  }
}

interface Leaf {
  readonly page: number;
  readonly first: number;
  readonly last: number;
}

/**
 * Leaf pages of a table that nothing links to any more, found by what is on them; in the order of their rows.
 *
 * A page counts only if every row on it fits, if the rows' numbers ascend, and if none of them lies within those of another page. A page
 * that a long row spills over to begins with the number of the next and so is never taken for a leaf below 2^24 * 13 pages.
 *
 * @param walked  pages that were reached
 * @param free    pages that the database does not use
 * @param fits    whether a row can be one of the table
 */
function strayLeaves(
  file: PageFile,
  walked: ReadonlySet<number>,
  free: ReadonlySet<number>,
  fits: (cell: Cell, view: DataView, pageStart: number) => boolean,
): number[] {
  const found: Leaf[] = [];
  for (let page = 2; page <= file.pages; page++) {
    if (walked.has(page) || free.has(page)) continue;
    const leaf = leafOf(file, page, fits);
    if (leaf !== null) found.push(leaf);
  }
  const inOrder = (a: Leaf, b: Leaf): number => a.first - b.first;
  const linked = Array.from(walked, (page) => leafOf(file, page, () => true)).filter((leaf) => leaf !== null);
  linked.sort(inOrder);
  const pages: number[] = [];
  let last = Number.NEGATIVE_INFINITY;
  for (const leaf of found.sort(inOrder)) {
    if (leaf.first <= last || overlaps(linked, leaf)) continue;
    pages.push(leaf.page);
    last = leaf.last;
  }
  return pages;
}

/** The rows of a page where it is a leaf and all of them fit. */
function leafOf(
  file: PageFile,
  page: number,
  fits: (cell: Cell, view: DataView, pageStart: number) => boolean,
): Leaf | null {
  const cell: Cell = { rowid: 0, page: 0, offset: 0, length: 0, local: 0 };
  let [first, last] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  try {
    if (!isLeaf(file, page)) return null;
    walkPage(file, page, cell, (each, view, pageStart) => {
      if (!(each.rowid > last && fits(each, view, pageStart))) throw new RecordDamage("another table's row");
      first = Math.min(first, each.rowid);
      last = each.rowid;
    });
  } catch (cause) {
    if (!(cause instanceof RecordDamage)) throw cause;
    return null;
  }
  return last < first ? null : { page, first, last };
}

/** Whether a page's rows lie among those of others, which are in order and apart from each other. */
function overlaps(leaves: readonly Leaf[], { first, last }: Leaf): boolean {
  let [low, high] = [0, leaves.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (leaves[middle]!.first <= last) low = middle + 1;
    else high = middle;
  }
  return low > 0 && leaves[low - 1]!.last >= first;
}
