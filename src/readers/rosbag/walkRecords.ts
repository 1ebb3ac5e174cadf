import { damageAt, type WalkState } from "../messages/chunkRecords.ts";
import type { MessageTarget } from "../messages/LogPart.ts";
import { opcode } from "./recordHeader.ts";

/** What a walk over records meets. */
export interface RecordVisitor {
  /** by connection, who wants its messages; those of other connections are stepped over unread */
  readonly targets: ReadonlyMap<number, MessageTarget>;
  /** called for every message, wanted or not */
  readonly seen?: (connection: number, sec: number, nsec: number) => void;
  /** called for every connection record with its whole bytes */
  readonly connection?: (record: Uint8Array) => void;
}

/** The first four letters of a field's name as a little-endian word; of "op=" there are three, and the kind follows. */
const messageOp = 0x023d706f;
const opName = 0x3d706f;
const connectionName = 0x6e6e6f63;
const timeName = 0x656d6974;

/**
 * Walks the records of a chunk's data that lie in a window of it, and stops where the window ends.
 *
 * Every length is checked against the chunk's end before it is used. Works on bare views: this loop runs once
 * for each message of the log.
 *
 * @param window    bytes of the chunk's data from position `from` on
 * @param total     length of the chunk's whole data
 * @throws RecordDamage  a length, field or kind of record that cannot be
 */
export function walkRecords(
  window: Uint8Array,
  from: number,
  total: number,
  state: WalkState,
  visitor: RecordVisitor,
): void {
  const view = new DataView(window.buffer, window.byteOffset, window.length);
  const size = window.length;
  const chunkEnd = total - from;
  // Nearly every header has its fields where the one before had them: looked for there first.
  const usual: FieldPlaces = { length: -1, op: 0, connection: 0, time: 0 };
  const walk: Walk = { window, view, state, visitor };
  let at = state.next - from;
  let needed = 0;
  while (at < size) {
    if (at + 4 > chunkEnd) throw damageAt(state, from + at, `${chunkEnd - at} byte(s) where a record should start`);
    if (at + 4 > size) {
      needed = 4;
      break;
    }
    const headerLength = view.getUint32(at, true);
    const dataAt = at + 8 + headerLength;
    if (dataAt > chunkEnd)
      throw damageAt(state, from + at, `a record header of ${headerLength} bytes reaches beyond its chunk`);
    if (dataAt > size) {
      needed = 8 + headerLength;
      break;
    }
    const recordEnd = dataAt + view.getUint32(dataAt - 4, true);
    if (recordEnd > chunkEnd)
      throw damageAt(state, from + at, `a record of ${recordEnd - at} bytes reaches beyond its chunk`);
    const isUsual = headerLength === usual.length && isMessage(view, at, usual);
    const op = isUsual ? opcode.message : findFields(view, at, headerLength, usual);
    if (op === opcode.message) needed = takeMessage(walk, usual, at, dataAt, recordEnd);
    else if (op === opcode.connection) needed = takeConnection(walk, at, recordEnd);
    else
      throw damageAt(
        state,
        from + at,
        op === null ? "a record header that is none" : `a record of kind ${op} inside a chunk`,
      );
    if (needed > 0) break;
    at = recordEnd;
  }
  state.next = from + at;
  state.needed = needed;
}

interface Walk {
  readonly window: Uint8Array;
  readonly view: DataView;
  readonly state: WalkState;
  readonly visitor: RecordVisitor;
}

/** Where the fields of a record header stand, from the record's start; `length` of the header: -1 where they are not known. */
interface FieldPlaces {
  length: number;
  op: number;
  connection: number;
  time: number;
}

/** Whether the header at `at` has a message's fields at these places. */
function isMessage(view: DataView, at: number, { op, connection, time }: FieldPlaces): boolean {
  return (
    view.getUint32(at + op, true) === 4 &&
    view.getUint32(at + op + 4, true) === messageOp &&
    view.getUint32(at + connection, true) === 9 &&
    view.getUint32(at + connection + 4, true) === connectionName &&
    view.getUint32(at + time, true) === 13 &&
    view.getUint32(at + time + 4, true) === timeName
  );
}

/** Hands on the message whose record lies at [at, recordEnd). @returns bytes from `at` that the window lacks; 0: it was taken */
function takeMessage(
  { view, state, visitor }: Walk,
  places: FieldPlaces,
  at: number,
  dataAt: number,
  recordEnd: number,
): number {
  const connection = view.getUint32(at + places.connection + 9, true);
  const sec = view.getUint32(at + places.time + 9, true);
  const nsec = view.getUint32(at + places.time + 13, true);
  const target = visitor.targets.get(connection);
  if (recordEnd > view.byteLength && target !== undefined) return recordEnd - at;
  state.messages++;
  visitor.seen?.(connection, sec, nsec);
  target?.(sec, nsec, view, dataAt, recordEnd);
  return 0;
}

/** The same for the record of a connection. */
function takeConnection({ window, visitor }: Walk, at: number, recordEnd: number): number {
  if (visitor.connection === undefined) return 0;
  if (recordEnd > window.length) return recordEnd - at;
  visitor.connection(window.subarray(at, recordEnd));
  return 0;
}

/**
 * Finds the fields of a record header and notes their places from the record's start.
 *
 * @returns the kind of record; null where the header names none, or a message without its connection and time
 */
function findFields(view: DataView, at: number, headerLength: number, places: FieldPlaces): number | null {
  const end = at + 4 + headerLength;
  let op: number | null = null;
  let found = 0;
  places.length = -1;
  for (let field = at + 4; field < end; ) {
    const length = field + 4 <= end ? view.getUint32(field, true) : 0;
    if (length < 1 || field + 4 + length > end) return null;
    const name = length < 4 ? 0 : view.getUint32(field + 4, true);
    if (length === 4 && (name & 0xffffff) === opName) {
      op = name >>> 24;
      places.op = field - at;
    } else if (length === 9 && name === connectionName) {
      places.connection = field - at;
      found++;
    } else if (length === 13 && name === timeName) {
      places.time = field - at;
      found++;
    }
    field += 4 + length;
  }
  if (op === opcode.message) {
    if (found !== 2) return null;
    places.length = headerLength;
  }
  return op;
}
