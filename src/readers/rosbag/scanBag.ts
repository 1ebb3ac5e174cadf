import { unpackRecords, type WalkState, walkWindows } from "../messages/chunkRecords.ts";
import { type LogConnection, type LogFile, RecordDamage } from "../messages/LogPart.ts";
import { Scratch } from "../messages/MessageDecoder.ts";
import { timeRange } from "../messages/timeRange.ts";
import {
  type BagChunk,
  type BagLayout,
  instant,
  opcode,
  readFields,
  readRecordHeader,
  textField,
  uint32Field,
} from "./recordHeader.ts";
import { type RecordVisitor, walkRecords } from "./walkRecords.ts";

/** The header of a chunk: where its data lie and how they are packed. */
interface ChunkHeader {
  readonly compression: string;
  /** length of the data once unpacked */
  readonly size: number;
  readonly dataPosition: number;
  readonly dataLength: number;
}

const packings = {
  names: ["lz4", "bz2"],
  words: "none, lz4, bz2",
  hint: "unpack the bag with the tool that recorded it",
};

/** Reads a chunk's header; null where there is no chunk at this position. */
export function readChunkHeader(file: LogFile, position: number): ChunkHeader | null {
  const record = readRecordHeader(file.slice(position, 256));
  if (record?.op !== opcode.chunk) return null;
  const size = uint32Field(record.fields, "size");
  if (size === null) return null;
  return {
    compression: textField(record.fields, "compression"),
    size,
    dataPosition: position + record.dataOffset,
    dataLength: record.dataLength,
  };
}

/**
 * Walks all records of one chunk.
 *
 * Uncompressed data are read in windows and what nobody wants is stepped over unread where it is longer than the
 * window: a bag full of camera images costs what the poses in it cost. Memory: one window, or one chunk
 * packed and unpacked.
 *
 * @returns messages met, wanted or not
 * @throws RecordDamage  the chunk is not there, cannot be unpacked, or holds what cannot be; `state` tells how many
 *                       messages were met before
 * @throws LogError      code `log-unreadable`: packed in a way that is not known
 */
export async function readChunk(
  file: LogFile,
  chunk: BagChunk,
  visitor: RecordVisitor,
  scratch: Scratch,
  state: WalkState,
): Promise<void> {
  const header = readChunkHeader(file, chunk.position);
  if (header === null) throw new RecordDamage("no chunk where the index says there is one");
  const { compression, size, dataPosition, dataLength } = header;
  const place = { position: dataPosition, length: Math.min(dataLength, chunk.available ?? dataLength) };
  if (compression === "none")
    walkWindows({ file, scratch, state }, place, (window, from, total) => {
      walkRecords(window, from, total, state, visitor);
      return true;
    });
  else {
    const packed = { compression, position: dataPosition, length: dataLength, size };
    walkRecords(await unpackRecords({ file, scratch }, packed, packings), 0, size, state, visitor);
  }
}

/**
 * Recovers the layout of a bag without a usable index: walks the file record by record, and within each chunk
 * message by message, and builds what the index would have said.
 *
 * Stops where a record reaches beyond the file or cannot be one. Cost: one pass over what is not stepped over.
 *
 * @param from    position of the first record after the bag header
 * @param reason  why the index is not used, in words
 */
export async function scanBag(file: LogFile, from: number, reason: string): Promise<BagLayout> {
  const connections = new Map<number, LogConnection>();
  const chunks: BagChunk[] = [];
  const damaged: string[] = [];
  const scratch = new Scratch();
  let messages = 0;
  let position = Math.min(from, file.bytes);
  while (position < file.bytes) {
    const record = readRecordHeader(file.slice(position, 4096)) ?? readRecordHeader(file.slice(position, 1 << 22));
    if (record === null || record.op < opcode.message || record.op > opcode.connection) break;
    const end = position + record.dataOffset + record.dataLength;
    if (record.op === opcode.connection && end <= file.bytes) {
      keepConnection(connections, file.slice(position, end - position));
    }
    if (record.op === opcode.chunk) {
      const found = await scanChunk(file, position, end, scratch, connections);
      if (found.damage !== null) damaged.push(`the chunk at byte ${position}: ${found.damage}`);
      if (found.chunk !== null) chunks.push(found.chunk);
      messages += found.messages;
    }
    if (end > file.bytes) break;
    position = end;
  }
  const notes = [`${reason}: scanned, ${chunks.length} chunk(s) with ${messages} message(s) found`];
  if (position < file.bytes) notes.push(`the last ${file.bytes - position} of ${file.bytes} bytes are no whole record`);
  if (damaged.length > 0) notes.push(`damaged: ${damaged.slice(0, 3).join("; ")}${more(damaged.length - 3)}`);
  return { file, connections, chunks, ...timeRange(chunks), notes };
}

function more(count: number): string {
  return count > 0 ? `; and ${count} more` : "";
}

async function scanChunk(
  file: LogFile,
  position: number,
  end: number,
  scratch: Scratch,
  connections: Map<number, LogConnection>,
): Promise<{ chunk: BagChunk | null; messages: number; damage: string | null }> {
  const header = readChunkHeader(file, position);
  if (header === null) return { chunk: null, messages: 0, damage: "its header is damaged" };
  const cut = end > file.bytes;
  const draft = {
    position,
    limit: Math.min(end, file.bytes),
    available: cut ? file.bytes - header.dataPosition : null,
  };
  const shares = new Map<number, { count: number; start: bigint; end: bigint }>();
  const visitor: RecordVisitor = {
    targets: new Map(),
    seen: (connection, sec, nsec) => {
      const time = instant(sec, nsec);
      const share = shares.get(connection);
      if (share === undefined) shares.set(connection, { count: 1, start: time, end: time });
      else {
        share.count++;
        if (time < share.start) share.start = time;
        if (time > share.end) share.end = time;
      }
    },
    connection: (record) => keepConnection(connections, record),
  };
  const state = { next: 0, needed: 0, messages: 0 };
  let damage: string | null = null;
  try {
    await readChunk(file, { ...draft, start: 0n, end: 0n, shares }, visitor, scratch, state);
  } catch (cause) {
    if (!(cause instanceof RecordDamage)) throw cause;
    damage = cut ? "the file ends within it" : cause.message;
  }
  const { start, end: last } = timeRange(shares.values());
  if (start === null || last === null) return { chunk: null, messages: 0, damage };
  // What was stepped over at the damage must not be met again: the chunk is read as far as it was sound.
  const available = damage === null ? draft.available : header.compression === "none" ? state.next : null;
  return { chunk: { ...draft, start, end: last, shares, available }, messages: state.messages, damage };
}

/** Adds the connection of a record (header: id and topic; data: type, md5, definition). Records that are none are left out. */
function keepConnection(connections: Map<number, LogConnection>, bytes: Uint8Array): void {
  const record = readRecordHeader(bytes);
  if (record === null) return;
  const id = uint32Field(record.fields, "conn");
  const data = readFields(bytes.subarray(record.dataOffset, record.dataOffset + record.dataLength));
  if (id === null || data === null || connections.has(id)) return;
  connections.set(id, {
    id,
    topic: textField(record.fields, "topic"),
    type: textField(data, "type"),
    encoding: "ros1",
    md5: textField(data, "md5sum"),
    definition: textField(data, "message_definition"),
    definitionFormat: "msg",
  });
}
