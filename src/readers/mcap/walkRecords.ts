import { damageAt, type WalkState } from "../messages/chunkRecords.ts";
import type { MessageTarget } from "../messages/LogPart.ts";
import { headBytes, messageHeadBytes, opcode } from "./records.ts";

/** What a walk over records meets. */
export interface RecordVisitor {
  /** by channel, who wants its messages; those of other channels are stepped over unread */
  readonly targets: ReadonlyMap<number, MessageTarget>;
  /** called for every message, wanted or not, with the two words of its log time */
  readonly seen?: (channel: number, high: number, low: number) => void;
  /** called for every schema and channel record with what follows its head */
  readonly described?: (op: number, bytes: Uint8Array) => void;
}

export interface McapWalk extends WalkState {
  /** messages handed to targets */
  handed: number;
  /** whether a record was met that cannot be in a stretch outside of chunks: the stretch ends before it */
  stopped: boolean;
}

export function newWalk(): McapWalk {
  return { next: 0, needed: 0, messages: 0, handed: 0, stopped: false };
}

/** Records that lie neither in a chunk nor in a stretch between chunks; 0 is no kind. */
function isBoundary(op: number): boolean {
  return op <= opcode.footer || op === opcode.chunk || op === opcode.dataEnd;
}

/**
 * Walks the records of a chunk, or of a stretch outside of chunks, that lie in a window of it; stops where the window ends.
 *
 * Every length is checked against the chunk's end before it is used. Kinds of records that are not known are stepped
 * over, as the format wants it. This loop runs once for each message of the log.
 *
 * @param window  bytes of the records from position `from` on
 * @param total   length of all the records
 * @param options.loose  whether the records lie outside of chunks
 * @throws RecordDamage  a length or kind of record that cannot be
 */
export function walkRecords(
  window: Uint8Array,
  from: number,
  total: number,
  state: McapWalk,
  visitor: RecordVisitor,
  options: { loose: boolean } = { loose: false },
): void {
  const view = new DataView(window.buffer, window.byteOffset, window.length);
  const size = window.length;
  const chunkEnd = total - from;
  const walk: Walk = { window, view, from, state, visitor };
  let at = state.next - from;
  let needed = 0;
  while (at < size) {
    const dataAt = at + headBytes;
    if (dataAt > chunkEnd) throw damageAt(state, from + at, `${chunkEnd - at} byte(s) where a record should start`);
    if (dataAt > size) {
      needed = headBytes;
      break;
    }
    const op = view.getUint8(at);
    if (isBoundary(op)) {
      if (!options.loose) throw damageAt(state, from + at, `a record of kind ${op} inside a chunk`);
      state.stopped = true;
      break;
    }
    const length = view.getUint32(at + 1, true) + view.getUint32(at + 5, true) * 4_294_967_296;
    const recordEnd = dataAt + length;
    if (recordEnd > chunkEnd) {
      const place = options.loose ? "file" : "chunk";
      throw damageAt(state, from + at, `a record of ${length} bytes reaches beyond its ${place}`);
    }
    needed = op === opcode.message ? takeMessage(walk, at, recordEnd) : takeDescription(walk, op, at, recordEnd);
    if (needed > 0) break;
    at = recordEnd;
  }
  state.next = from + at;
  state.needed = needed;
}

interface Walk {
  readonly window: Uint8Array;
  readonly view: DataView;
  /** position of the window's first byte */
  readonly from: number;
  readonly state: McapWalk;
  readonly visitor: RecordVisitor;
}

/** Hands on the message whose record lies at [at, recordEnd). @returns bytes from `at` that the window lacks; 0: it was taken */
function takeMessage({ view, from, state, visitor }: Walk, at: number, recordEnd: number): number {
  const dataAt = at + headBytes;
  const bodyAt = dataAt + messageHeadBytes;
  if (recordEnd < bodyAt) throw damageAt(state, from + at, `a message record of ${recordEnd - dataAt} bytes`);
  if (bodyAt > view.byteLength) return headBytes + messageHeadBytes;
  const channel = view.getUint16(dataAt, true);
  const target = visitor.targets.get(channel);
  if (recordEnd > view.byteLength && target !== undefined) return recordEnd - at;
  const low = view.getUint32(dataAt + 6, true);
  const high = view.getUint32(dataAt + 10, true);
  state.messages++;
  visitor.seen?.(channel, high, low);
  if (target !== undefined) {
    state.handed++;
    target(high, low, view, bodyAt, recordEnd);
  }
  return 0;
}

/** The same for a schema or a channel; a record of another kind is stepped over. */
function takeDescription({ window, visitor }: Walk, op: number, at: number, recordEnd: number): number {
  if (visitor.described === undefined || (op !== opcode.schema && op !== opcode.channel)) return 0;
  if (recordEnd > window.length) return recordEnd - at;
  visitor.described(op, window.subarray(at + headBytes, recordEnd));
  return 0;
}
