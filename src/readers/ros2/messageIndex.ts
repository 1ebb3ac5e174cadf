import { RecordDamage } from "../messages/LogPart.ts";
import { Scratch } from "../messages/MessageDecoder.ts";
import type { PageFile } from "./sqlite/PageFile.ts";
import { gatherRecord, isBlob, placeValues, type Value, wholeNumber } from "./sqlite/record.ts";
import type { Column } from "./sqlite/tableDefinition.ts";
import type { Table } from "./sqlite/tables.ts";
import { readSignedVarint, type Varint } from "./sqlite/varint.ts";
import { type Cell, interior, lostPages, type Walk, walkPage, walkTable } from "./sqlite/walkTable.ts";
import type { StrayMessages } from "./strayMessages.ts";

/** Where every message of a database lies, in the order of the rows. Columns of equal length. */
export interface MessageIndex {
  readonly count: number;
  readonly topic: Float64Array;
  /** receipt, nanoseconds, in two words */
  readonly high: Int32Array;
  readonly low: Uint32Array;
  readonly page: Uint32Array;
  /** record within the page, its length, and how much of it is on the page */
  readonly offset: Uint32Array;
  readonly length: Float64Array;
  readonly local: Uint32Array;
  /** the message's bytes within the record */
  readonly dataAt: Uint32Array;
  readonly dataLength: Float64Array;
  readonly notes: readonly string[];
}

/** A message larger than this is no ROS message. */
const longestMessage = 2 ** 31;

/**
 * Looks through the rows of a table of messages once: all but the messages themselves.
 *
 * @param table   with the columns topic_id, timestamp and data
 * @param search  asked where pages cannot be read, for those that they led to
 */
export function indexMessages(file: PageFile, table: Table, search: (walk: Walk) => StrayMessages): MessageIndex {
  const [topicColumn, timeColumn, dataColumn] = ["topic_id", "timestamp", "data"].map(
    (name) => table.columns.get(name)!,
  ) as [Column, Column, Column];
  const length = Math.max(topicColumn.place, timeColumn.place, dataColumn.place) + 1;
  const values: Value[] = Array.from({ length }, () => ({ serial: 0, at: 0, bytes: 0 }));
  const topicValue = values[topicColumn.place]!;
  const timeValue = values[timeColumn.place]!;
  const dataValue = values[dataColumn.place]!;
  // what a record shorter than its table may leave out
  const least = Math.max(timeColumn.place, dataColumn.place) + 1;
  const absentTopic = typeof topicColumn.absent === "number" ? topicColumn.absent : Number.NaN;
  const columns = new IndexColumns();
  const scratch = new Scratch();
  let lost = 0;
  const visit = (cell: Readonly<Cell>, view: DataView, pageStart: number): void => {
    try {
      let bytes = view;
      let at = pageStart + cell.offset;
      let found = placeValues(bytes, at, at + cell.local, at + cell.length, values);
      const here = at + cell.local;
      const isHere =
        timeValue.at + timeValue.bytes <= here &&
        (topicColumn.place >= found || topicValue.at + topicValue.bytes <= here);
      if (found >= least && !isHere) {
        // behind a message that spills over, they lie on another page
        bytes = wholeRecord(file, cell, scratch);
        at = 0;
        found = placeValues(bytes, at, cell.length, cell.length, values);
      }
      if (found < least || !isBlob(dataValue) || dataValue.bytes > longestMessage) {
        lost++;
        return;
      }
      const topic = topicColumn.place < found ? wholeNumber(bytes, topicValue) : absentTopic;
      const time = wholeNumber(bytes, timeValue);
      // a row without a time or a topic is no message
      if (Number.isNaN(topic) || Number.isNaN(time)) {
        lost++;
        return;
      }
      const row = columns.add();
      columns.topic[row] = topic;
      if (timeValue.serial === 6) {
        columns.high[row] = bytes.getInt32(timeValue.at);
        columns.low[row] = bytes.getUint32(timeValue.at + 4);
      } else {
        columns.high[row] = Math.floor(time / 4_294_967_296);
        columns.low[row] = time - Math.floor(time / 4_294_967_296) * 4_294_967_296;
      }
      columns.page[row] = cell.page;
      columns.offset[row] = cell.offset;
      columns.length[row] = cell.length;
      columns.local[row] = cell.local;
      columns.dataAt[row] = dataValue.at - at;
      columns.dataLength[row] = dataValue.bytes;
    } catch (cause) {
      if (!(cause instanceof RecordDamage)) throw cause;
      lost++;
    }
  };
  const notes = visitRows(file, table.root, visit, search, () => columns.count);
  if (lost > 0) notes.push(`${lost} row(s) hold no message that can be read`);
  return columns.finish(notes.map((note) => `table ${table.name}: ${note}`));
}

type Visit = (cell: Readonly<Cell>, view: DataView, pageStart: number) => void;

/**
 * Visits the rows of a table, and where pages of it cannot be read those that nothing links to any more.
 *
 * @param count  messages found so far
 * @returns what was lost and found
 */
function visitRows(
  file: PageFile,
  root: number,
  visit: Visit,
  search: (walk: Walk) => StrayMessages,
  count: () => number,
): string[] {
  const walk = walkTable(file, root, visit);
  const notes = lostPages(walk);
  if (walk.lost === 0) return notes;
  const found = search(walk);
  if ("obstacle" in found)
    notes.push(`pages that nothing links to any more were not searched for messages: ${found.obstacle}`);
  else if (found.pages.length > 0) {
    const before = count();
    const cell: Cell = { rowid: 0, page: 0, offset: 0, length: 0, local: 0 };
    for (const page of found.pages) walkPage(file, page, cell, visit);
    notes.push(
      `${count() - before} message(s) were found by their layout, on ${found.pages.length} page(s) that nothing links to any more`,
    );
  }
  const highest = highestRow(file, walk.pages);
  if (highest > count()) notes.push(`${count()} message(s) are left of rows whose numbers reach at least ${highest}`);
  return notes;
}

/**
 * @throws RecordDamage  the record is longer than the file, or a part of it is not there
 */
function wholeRecord(file: PageFile, cell: Readonly<Cell>, scratch: Scratch): DataView {
  if (cell.length > file.pages * file.pageSize) throw new RecordDamage(`row ${cell.rowid} is longer than the file`);
  const bytes = scratch.take(cell.length);
  gatherRecord(file, cell, bytes);
  return new DataView(bytes.buffer, bytes.byteOffset, cell.length);
}

/** The columns of the index while they grow. */
class IndexColumns {
  count = 0;
  topic = new Float64Array(1024);
  high = new Int32Array(1024);
  low = new Uint32Array(1024);
  page = new Uint32Array(1024);
  offset = new Uint32Array(1024);
  length = new Float64Array(1024);
  local = new Uint32Array(1024);
  dataAt = new Uint32Array(1024);
  dataLength = new Float64Array(1024);

  add(): number {
    if (this.count === this.topic.length) this.#grow();
    return this.count++;
  }

  #grow(): void {
    const size = 2 * this.topic.length;
    const longer = <T extends Int32Array | Uint32Array | Float64Array>(old: T, grown: T): T => {
      grown.set(old);
      return grown;
    };
    this.topic = longer(this.topic, new Float64Array(size));
    this.high = longer(this.high, new Int32Array(size));
    this.low = longer(this.low, new Uint32Array(size));
    this.page = longer(this.page, new Uint32Array(size));
    this.offset = longer(this.offset, new Uint32Array(size));
    this.length = longer(this.length, new Float64Array(size));
    this.local = longer(this.local, new Uint32Array(size));
    this.dataAt = longer(this.dataAt, new Uint32Array(size));
    this.dataLength = longer(this.dataLength, new Float64Array(size));
  }

  finish(notes: readonly string[]): MessageIndex {
    return { ...this, notes };
  }
}

/**
 * The highest row number that a table's pages speak of, its rows themselves apart: each cell of an interior page has the highest one of
 * the page it leads to.
 *
 * @param walked  pages of the table that were reached
 * @returns -Infinity where there is no interior page
 * @source SQLite, Database File Format, section 1.6
 */
function highestRow(file: PageFile, walked: ReadonlySet<number>): number {
  const number: Varint = { value: 0, next: 0 };
  let highest = Number.NEGATIVE_INFINITY;
  for (const page of walked) {
    try {
      const { view, at } = file.page(page);
      const head = at + (page === 1 ? 100 : 0);
      const cells = view.getUint16(head + 3);
      if (view.getUint8(head) !== interior || cells === 0 || 12 + 2 * cells > file.usable - (head - at)) continue;
      // they ascend
      const last = view.getUint16(head + 12 + 2 * (cells - 1));
      readSignedVarint(view, at + last + 4, at + file.usable, number);
      highest = Math.max(highest, number.value);
    } catch (cause) {
      if (!(cause instanceof RecordDamage)) throw cause;
    }
  }
  return highest;
}
