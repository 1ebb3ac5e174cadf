import { largestChunk } from "../messages/codecs.ts";
import { type LogFile, RecordDamage } from "../messages/LogPart.ts";
import { timeRange } from "../messages/timeRange.ts";
import { Declarations } from "./Declarations.ts";
import { connectionsOf, countsOf, firstOf, type McapChunk, type McapLayout, type Share } from "./mcapLayout.ts";
import {
  type ChunkIndex,
  chunkIndexOf,
  Fields,
  footerBytes,
  headBytes,
  isMagic,
  magic,
  opcode,
  readHead,
  type Statistics,
  statisticsOf,
} from "./records.ts";
import { fits, Pass, scanRecords } from "./scanRecords.ts";

/** Of an index record: head, channel and length of its entries; and each entry, a time and a place. */
const indexHeadBytes = headBytes + 2 + 4;
const entryBytes = 16;

/**
 * What the index records behind a chunk say of it, by channel. They hold the time of every message, while the summary's
 * index of the chunk holds no more than the first and the last: one entry costs 16 bytes to read, a message all of its own.
 *
 * @param position  behind the chunk
 * @param length    of all its index records, bytes; not checked to be there
 * @returns null where these are no such records
 */
function indexedShares(pass: Pass, position: number, length: number): Map<number, Share> | null {
  const bytes = pass.take(length);
  if (pass.file.readInto(bytes, position, length) < length) return null;
  const view = new DataView(bytes.buffer, bytes.byteOffset, length);
  const shares = new Map<number, Share>();
  for (let at = 0; at < length; ) {
    const entriesAt = at + indexHeadBytes;
    if (entriesAt > length || view.getUint8(at) !== opcode.messageIndex) return null;
    const channel = view.getUint16(at + headBytes, true);
    const entries = view.getUint32(at + headBytes + 2, true);
    const end = at + headBytes + view.getUint32(at + 1, true);
    // the record's length has eight bytes, of which none but the lower four can be needed
    if (view.getUint32(at + 5, true) !== 0 || end > length || entriesAt + entries !== end) return null;
    if (entries % entryBytes !== 0 || shares.has(channel)) return null;
    if (entries > 0) shares.set(channel, shareOf(view, entriesAt, end));
    at = end;
  }
  return shares;
}

/** This loop runs once for each message of the log: times are compared by their two words. */
function shareOf(view: DataView, from: number, end: number): Share {
  let [firstHigh, firstLow, lastHigh, lastLow] = [0xffff_ffff, 0xffff_ffff, 0, 0];
  for (let at = from; at < end; at += entryBytes) {
    const low = view.getUint32(at, true);
    const high = view.getUint32(at + 4, true);
    if (high < firstHigh || (high === firstHigh && low < firstLow)) {
      firstHigh = high;
      firstLow = low;
    }
    if (high > lastHigh || (high === lastHigh && low > lastLow)) {
      lastHigh = high;
      lastLow = low;
    }
  }
  return {
    count: (end - from) / entryBytes,
    start: (BigInt(firstHigh) << 32n) | BigInt(firstLow),
    end: (BigInt(lastHigh) << 32n) | BigInt(lastLow),
  };
}

/** The longest summary, and the longest index of a chunk, that is read whole, bytes: far above that of a day's recording. */
const longestSummary = 2 ** 28;

type Summary = Pick<McapLayout, "connections" | "declarations" | "chunks" | "counts" | "notes">;

/** The summary; or why it is not used, in words; null where the file is sound and has none that would do. */
export async function readSummary(file: LogFile): Promise<Summary | string | null> {
  const footerAt = file.bytes - magic.length - headBytes - footerBytes;
  if (footerAt < magic.length || !isMagic(file.slice(file.bytes - magic.length, magic.length)))
    return "it was not closed by its recorder and has no index";
  const footer = file.slice(footerAt, headBytes + footerBytes);
  const head = readHead(footer);
  if (head?.op !== opcode.footer || head.length !== footerBytes) return "its end is damaged";
  const fields = new Fields(footer.subarray(headBytes));
  try {
    const start = fields.size();
    const offsets = fields.size();
    const crc = fields.uint32();
    if (start === 0) return null;
    if (start < magic.length || start > footerAt || (offsets !== 0 && (offsets < start || offsets > footerAt)))
      return "its index is said to lie outside of it";
    if (footerAt - start > longestSummary) return "its index is longer than an index can be";
    // the checksum takes in the footer up to itself
    const bytes = file.slice(start, footerAt - start + headBytes + footerBytes - 4);
    if (!fits(bytes, crc)) return "its index does not match its checksum";
    return await indexOf(file, start, bytes.subarray(0, footerAt - start));
  } catch (cause) {
    if (!(cause instanceof RecordDamage)) throw cause;
    return "its index is damaged";
  }
}

/** @throws RecordDamage  records that cannot be */
async function indexOf(file: LogFile, dataEnd: number, bytes: Uint8Array): Promise<Summary | string | null> {
  const records = recordsOf(bytes);
  if (typeof records === "string") return records;
  if (!isSettled(records)) return null;
  const { declarations, statistics } = records;
  const found = await chunksOf(file, dataEnd, records);
  if (found === null || typeof found === "string") return found;
  if (declarations.notes.length > 0) return "it declares a channel or schema twice";
  const { chunks, damaged, doubted, unindexed } = found;
  const connections = connectionsOf(declarations);
  const counts = countsOf(chunks);
  const total = [...counts.values()].reduce((sum, count) => sum + count, 0);
  if ([...counts.keys()].some((id) => !connections.has(id))) return null;
  // Columns are allocated by these counts: each message has its place in an index record of this file, or was met.
  const agreed =
    total === statistics.messages && [...counts].every(([id, count]) => statistics.counts.get(id) === count);
  // without the index records behind a chunk nothing tells what is in it
  if (!agreed && (damaged.length === 0 || unindexed > 0)) return null;
  const notes: string[] = [];
  if (doubted > 0)
    notes.push(
      `its index and the index records behind ${doubted} chunk(s) do not agree: these chunk(s) were looked through`,
    );
  if (damaged.length > 0)
    notes.push(`${total} of ${statistics.messages} message(s) found; damaged: ${firstOf(damaged)}`);
  return { connections, declarations, chunks, counts, notes };
}

interface SummaryRecords {
  readonly declarations: Declarations;
  readonly indexes: readonly ChunkIndex[];
  readonly statistics: Statistics | null;
}

/** What the summary's records say; or why it is not used, in words. */
function recordsOf(bytes: Uint8Array): SummaryRecords | string {
  const declarations = new Declarations();
  const indexes: ChunkIndex[] = [];
  let statistics: Statistics | null = null;
  for (let at = 0; at < bytes.length; ) {
    const head = readHead(bytes.subarray(at));
    const end = at + headBytes + (head?.length ?? 0);
    if (head === null || end > bytes.length) return "its index is damaged";
    const content = bytes.subarray(at + headBytes, end);
    if (head.op === opcode.schema || head.op === opcode.channel) declarations.declare(head.op, content);
    else if (head.op === opcode.chunkIndex) indexes.push(chunkIndexOf(content));
    else if (head.op === opcode.statistics) statistics = statisticsOf(content);
    at = end;
  }
  return { declarations, indexes: indexes.sort((a, b) => a.position - b.position), statistics };
}

/** Whether a summary counts its chunks, and declares the schema of each channel. */
function isSettled(records: SummaryRecords): records is SummaryRecords & { readonly statistics: Statistics } {
  const { channels, schemas } = records.declarations;
  if (records.statistics?.chunks !== records.indexes.length) return false;
  return [...channels.values()].every(({ schema }) => schema === 0 || schemas.has(schema));
}

interface IndexedChunks {
  readonly chunks: readonly McapChunk[];
  readonly damaged: readonly string[];
  /** chunks that were looked through, for their indexes do not agree */
  readonly doubted: number;
  /** chunks without index records behind them */
  readonly unindexed: number;
}

/** The chunks with messages; or why the summary is not used, in words; null where it leaves messages out. */
async function chunksOf(
  file: LogFile,
  dataEnd: number,
  { declarations, indexes }: SummaryRecords,
): Promise<IndexedChunks | string | null> {
  const pass = new Pass(file);
  const chunks: McapChunk[] = [];
  const damaged: string[] = [];
  let position: number = magic.length;
  let doubted = 0;
  for (const index of indexes) {
    const end = index.position + index.length + index.indexLength;
    if (index.position < position || end > dataEnd) return "its index names chunks that cannot be";
    if (index.indexLength > longestSummary || holdsLoose(file, position, index.position, declarations)) return null;
    let chunk = indexedChunk(pass, index);
    if (chunk === null) {
      const { kind, length, compression } = { kind: "chunk", ...index } as const;
      const place = { kind, position: index.position, length, compression, available: null };
      const scanned = await scanRecords(pass, place);
      if (scanned.damage !== null) damaged.push(`the chunk at byte ${index.position}: ${scanned.damage}`);
      chunk = scanned.chunk;
      doubted++;
    }
    if (chunk !== null && chunk.messages > 0) chunks.push(chunk);
    position = end;
  }
  if (holdsLoose(file, position, dataEnd, declarations)) return null;
  return { chunks, damaged, doubted, unindexed: indexes.filter(({ indexLength }) => indexLength === 0).length };
}

/** A chunk by the index records behind it; null where these are damaged, or tell of other times than its own index. */
function indexedChunk(pass: Pass, index: ChunkIndex): McapChunk | null {
  const { position, length, indexLength, compression } = index;
  const channels = indexedShares(pass, position + length, indexLength);
  if (channels === null) return null;
  const messages = [...channels.values()].reduce((sum, { count }) => sum + count, 0);
  const { start, end } = messages > 0 ? timeRange(channels.values()) : index;
  if (start !== index.start || end !== index.end) return null;
  return { kind: "chunk", position, length, start, end, messages, compression, channels, available: null };
}

/** Whether there are messages, or a chunk that the index leaves out, between what the index names. What is declared there is kept. */
function holdsLoose(file: LogFile, from: number, to: number, declarations: Declarations): boolean {
  let position = from;
  while (position < to) {
    const head = readHead(file.slice(position, headBytes));
    if (head === null || head.op === 0 || head.op === opcode.message || head.op === opcode.chunk) return true;
    if (head.op === opcode.schema || head.op === opcode.channel)
      declarations.declare(
        head.op,
        file.slice(position + headBytes, Math.min(head.length, to - position, largestChunk)),
      );
    position += headBytes + head.length;
  }
  return position > to;
}
