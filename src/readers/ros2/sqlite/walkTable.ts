import { RecordDamage } from "../../messages/LogPart.ts";
import type { PageFile } from "./PageFile.ts";
import { readSignedVarint, readVarint, type Varint } from "./varint.ts";

const leaf = 13;
export const interior = 5;

/** One row's record where it lies: its first part on its own page, the rest on pages that follow each other. */
export interface Cell {
  rowid: number;
  /** page of the row, and the byte within it at which the record begins */
  page: number;
  offset: number;
  /** bytes of the record in all, and those of them on the row's own page */
  length: number;
  local: number;
}

/** What became of a walk. */
export interface Walk {
  /** pages that were reached */
  readonly pages: ReadonlySet<number>;
  /** how many of them could not be read, in part or as a whole, and why the first could not */
  readonly lost: number;
  readonly reason: string;
  /** how often a row's number was below that of the row before it */
  readonly backward: number;
}

/** What a walk could not read, in words. */
export function lostPages({ lost, reason, backward }: Walk): string[] {
  return [
    ...(lost === 0 ? [] : [`${lost} page(s) of its rows cannot be read, with all that they lead to (${reason})`]),
    // as a recorder leaves it that was stopped while it moved rows from page to page
    ...(backward === 0
      ? []
      : [`its rows step back ${backward} time(s) in their order: some may be there twice or be lost`]),
  ];
}

/**
 * Walks the rows of a table in the order of their rowids.
 *
 * @param root   the table's first page
 * @param visit  called for each row with its cell, which is used again for the next, and the page it lies on
 * @source SQLite, Database File Format, section 1.6 (b-tree pages)
 */
export function walkTable(
  file: PageFile,
  root: number,
  visit: (cell: Cell, view: DataView, pageStart: number) => void,
): Walk {
  const seen = new Set<number>();
  // pages still to be walked, the next one last
  const waiting = [root];
  const cell: Cell = { rowid: 0, page: 0, offset: 0, length: 0, local: 0 };
  let lost = 0;
  let reason = "";
  let backward = 0;
  let last = Number.NEGATIVE_INFINITY;
  const visitInOrder: typeof visit = (each, view, pageStart) => {
    if (each.rowid < last) backward++;
    last = each.rowid;
    visit(each, view, pageStart);
  };
  for (let number = waiting.pop(); number !== undefined; number = waiting.pop()) {
    try {
      if (seen.has(number)) throw new RecordDamage(`page ${number} is linked twice`);
      seen.add(number);
      const children = walkPage(file, number, cell, visitInOrder);
      for (let k = children.length - 1; k >= 0; k--) waiting.push(children[k]!);
    } catch (cause) {
      if (!(cause instanceof RecordDamage)) throw cause;
      lost++;
      if (reason === "") reason = cause.message;
    }
  }
  return { pages: seen, lost, reason, backward };
}

const number: Varint = { value: 0, next: 0 };

/**
 * Whether a page begins as a leaf of a table.
 *
 * @throws RecordDamage  no such page
 */
export function isLeaf(file: PageFile, page: number): boolean {
  const { view, at } = file.page(page);
  return view.getUint8(at + (page === 1 ? 100 : 0)) === leaf;
}

/**
 * Visits the rows of a leaf; gives the children of an interior page.
 *
 * @throws RecordDamage  no page of a table, or a damaged one: the rows before the damage have been visited
 */
export function walkPage(
  file: PageFile,
  page: number,
  cell: Cell,
  visit: (cell: Cell, view: DataView, pageStart: number) => void,
): readonly number[] {
  const { view, at } = file.page(page);
  const { pageSize, usable } = file;
  // the database's own header stands before that of the first page
  const head = at + (page === 1 ? 100 : 0);
  const end = at + usable;
  const type = view.getUint8(head);
  const cells = view.getUint16(head + 3);
  const pointers = head + (type === interior ? 12 : 8);
  if (type !== leaf && type !== interior) throw new RecordDamage(`page ${page} is no page of a table`);
  if (pointers + 2 * cells > end) throw new RecordDamage(`page ${page} claims ${cells} cells`);
  if (type === interior) {
    const children: number[] = [];
    for (let k = 0; k < cells; k++) {
      const place = at + view.getUint16(pointers + 2 * k);
      if (place + 4 > end) throw new RecordDamage(`page ${page} points outside itself`);
      children.push(view.getUint32(place));
    }
    children.push(view.getUint32(head + 8));
    return children;
  }
  const most = usable - 35;
  const least = Math.floor(((usable - 12) * 32) / 255) - 23;
  cell.page = page;
  for (let k = 0; k < cells; k++) {
    const pointer = view.getUint16(pointers + 2 * k);
    if (pointer < 8 || pointer >= pageSize) throw new RecordDamage(`page ${page} points outside itself`);
    readVarint(view, at + pointer, end, number);
    cell.length = number.value;
    readSignedVarint(view, number.next, end, number);
    cell.rowid = number.value;
    cell.offset = number.next - at;
    if (cell.length <= most) cell.local = cell.length;
    else {
      const kept = least + ((cell.length - least) % (usable - 4));
      cell.local = kept <= most ? kept : least;
    }
    const spilled = cell.local < cell.length;
    if (cell.offset + cell.local + (spilled ? 4 : 0) > usable)
      throw new RecordDamage(`row ${cell.rowid} does not fit on page ${page}`);
    visit(cell, view, at);
  }
  return [];
}
