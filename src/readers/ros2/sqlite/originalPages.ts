import type { LogFile } from "../../messages/LogPart.ts";

const headerLength = 28;

/**
 * Pages as they were before a transaction that was not finished, which the rollback journal beside a database keeps. Without them the
 * database is a half-written one.
 *
 * A journal that is empty or begins with zeros belongs to a finished transaction (journal modes TRUNCATE and PERSIST) and is not stated.
 *
 * @source SQLite, Database File Format, section 3 (rollback journal); the first copy of a page is the original one
 */
export function originalPages(journal: LogFile, pageSize: number): StandIns {
  const without = (note: string | null): StandIns => ({ pages: new Map(), size: null, note });
  if (journal.bytes === 0 || journal.slice(0, 1)[0] === 0) return without(null);
  const first = headerAt(journal, 0);
  const fault = faultOf(first, pageSize);
  if (first === null || fault !== null) return without(fault);
  const sector = first.getUint32(20);
  const size = first.getUint32(16);
  const pages = new Map<number, number>();
  const recordLength = pageSize + 8;
  let lost = 0;
  let at = 0;
  for (let head: DataView | null = first; head !== null && lost === 0; head = headerAt(journal, at)) {
    at += sector;
    const stated = head.getUint32(8);
    const whole = Math.floor(Math.max(0, journal.bytes - at) / recordLength);
    // a recorder that does not wait for the disk does not count its pages
    const count = stated === 0xffffffff ? whole : stated;
    for (let k = 0; k < count && lost === 0; k++, at += recordLength) {
      const page = k < whole ? soundPage(journal.slice(at, recordLength), head.getUint32(12)) : null;
      // how many it meant to write is known only where it counts them
      if (page === null) lost = count === stated ? count - k : 1;
      else if (page <= size && !pages.has(page)) pages.set(page, at + 4);
    }
    at = Math.ceil(at / sector) * sector;
  }
  return { pages, size, note: undoneNote(pages.size, lost) };
}

function undoneNote(pages: number, lost: number): string {
  const undone = `the recorder did not finish its last transaction, which was undone: ${pages} page(s) come from the rollback journal beside it`;
  return lost === 0
    ? undone
    : `${undone}, but at least ${lost} more of it cannot be read: half-written rows may be left`;
}

/** Why a journal is not used, in words. */
function faultOf(first: DataView | null, pageSize: number): string | null {
  const sector = first?.getUint32(20) ?? 0;
  if (first === null || sector < 32 || (sector & (sector - 1)) !== 0)
    return `the rollback journal beside it cannot be read (${first === null ? "it does not begin as one" : `sectors of ${sector} bytes`}): rows of a transaction that was not finished may be left in it`;
  // older versions left the page size out
  return first.getUint32(24) === 0 || first.getUint32(24) === pageSize
    ? null
    : "a rollback journal lies beside it that does not belong to it: it was left out";
}

function headerAt(journal: LogFile, at: number): DataView | null {
  const bytes = journal.slice(at, headerLength);
  const head = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
  if (head.byteLength < headerLength) return null;
  return head.getUint32(0) === 0xd9d505f9 && head.getUint32(4) === 0x20a163d7 ? head : null;
}

/** The number of the page in a record; null where its checksum, over every two-hundredth byte from the end, is wrong. */
function soundPage(record: Uint8Array, nonce: number): number | null {
  const view = new DataView(record.buffer, record.byteOffset, record.length);
  const pageSize = record.length - 8;
  let sum = nonce;
  for (let at = pageSize - 200; at > 0; at -= 200) sum = (sum + record[4 + at]!) >>> 0;
  const page = view.getUint32(0);
  return page === 0 || sum !== view.getUint32(4 + pageSize) ? null : page;
}

/** Pages that stand in for those of the database file, in a file beside it. */
export interface StandIns {
  /** page -> byte of its content in the file beside the database */
  readonly pages: ReadonlyMap<number, number>;
  /** pages that the database has with them; null where the file beside it does not say */
  readonly size: number | null;
  /** what is to be said of it */
  readonly note: string | null;
}
