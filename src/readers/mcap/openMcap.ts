import { LogError } from "../../foundation/errors.ts";
import { LogFile } from "../messages/LogFile.ts";
import { RecordDamage } from "../messages/RecordDamage.ts";
import { Fields } from "./Fields.ts";
import { connectionsOf, type McapChunk, type McapLayout } from "./mcapLayout.ts";
import { fits } from "./readChunk.ts";
import {
  type Channel,
  type ChunkIndex,
  channelOf,
  chunkIndexOf,
  footerBytes,
  headBytes,
  isMagic,
  magic,
  opcode,
  readHead,
  type Schema,
  type Statistics,
  schemaOf,
  statisticsOf,
} from "./records.ts";
import { scanMcap } from "./scanMcap.ts";

/** The longest summary that is read whole, bytes: far above that of a day's recording. */
const longestSummary = 2 ** 28;
/** Of an index record: head, channel and length of its entries; and each entry, a time and a place. */
const indexHeadBytes = headBytes + 2 + 4;
const indexEntryBytes = 16;
/** The most files that are looked for in one, so that a file full of beginnings ends. */
const mostFiles = 1000;

/** What an MCAP file holds. */
export interface McapContents {
  readonly file: LogFile;
  /** one layout; more where further MCAP files were joined to the first, each with channels of its own */
  readonly layouts: readonly [McapLayout, ...McapLayout[]];
  /** what lies in the file besides, in words */
  readonly notes: readonly string[];
}

/**
 * Opens an MCAP file and reads its summary; where there is none or it cannot be trusted, scans the file instead. What lies
 * behind its closing magic is read on where it is another MCAP file, and told in any case.
 *
 * Memory: the summary. The caller closes `file`.
 *
 * @throws LogError  code `log-unreadable`: not a file, not MCAP of version 0, cut off within its first record, or packed
 *                   in a way that is not known
 */
export async function openMcap(path: string): Promise<McapContents> {
  const file = new LogFile(path);
  try {
    checkMagic(file);
    const summary = readSummary(file);
    if (typeof summary === "object" && summary !== null)
      return { file, layouts: [{ file, start: 0, ...summary, notes: [] }], notes: [] };
    return await scanFiles(file, summary);
  } catch (cause) {
    file.close();
    throw cause;
  }
}

/** Scans the file, and others that were joined to it. Their indexes hold places in themselves and are of no use here. */
async function scanFiles(file: LogFile, reason: string | null): Promise<McapContents> {
  const first = await scanMcap(file, 0, reason);
  const others: McapLayout[] = [];
  let { end } = first;
  while (others.length < mostFiles && isMagic(file.slice(end, magic.length))) {
    const next = await scanMcap(file, end, null);
    others.push(next);
    end = next.end;
  }
  const notes: string[] = [];
  if (others.length > 0) {
    const places = others.slice(0, 3).map(({ start }) => start);
    const more = others.length > places.length ? ` and ${others.length - places.length} more` : "";
    notes.push(
      `it is several MCAP files in one: others begin at byte ${places.join(", ")}${more}, and are read as well`,
    );
  }
  if (end < file.bytes)
    notes.push(`${file.bytes - end} byte(s) lie behind its closing magic, from byte ${end} on, and are not read`);
  return { file, layouts: [first, ...others], notes };
}

function checkMagic(file: LogFile): void {
  const start = file.slice(0, magic.length);
  const version = start[5];
  if (start.length < magic.length || !isMagic(start)) {
    const other = start.length === magic.length && version !== magic[5];
    throw new LogError(
      "log-unreadable",
      other
        ? `found an MCAP file of version "${String.fromCharCode(version!)}", expected "0"`
        : `found ${file.bytes} bytes without a whole MCAP beginning, expected one`,
      {
        place: file.path,
        hint: other
          ? "write it again as version 0"
          : "the file was cut off or changed on its way; copy it again from the recorder, as a binary file",
      },
    );
  }
  if (readHead(file.slice(magic.length, headBytes)) === null)
    throw new LogError("log-unreadable", `found ${file.bytes} bytes without a whole record, expected an MCAP file`, {
      place: file.path,
      hint: "the recorder wrote nothing more, or the copy failed: copy it again",
    });
}

type Summary = Pick<McapLayout, "connections" | "chunks" | "counts">;

/** The summary; or why it is not used, in words; null where the file is sound and has none that would do. */
function readSummary(file: LogFile): Summary | string | null {
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
    return indexOf(file, start, bytes.subarray(0, footerAt - start));
  } catch (cause) {
    if (!(cause instanceof RecordDamage)) throw cause;
    return "its index is damaged";
  }
}

/** @throws RecordDamage  records that cannot be */
function indexOf(file: LogFile, dataEnd: number, bytes: Uint8Array): Summary | string | null {
  const schemas = new Map<number, Schema>();
  const channels = new Map<number, Channel>();
  const indexes: ChunkIndex[] = [];
  let statistics: Statistics | null = null;
  for (let at = 0; at < bytes.length; ) {
    const head = readHead(bytes.subarray(at));
    const end = at + headBytes + (head?.length ?? 0);
    if (head === null || end > bytes.length) return "its index is damaged";
    const content = bytes.subarray(at + headBytes, end);
    if (head.op === opcode.schema) {
      const schema = schemaOf(content);
      schemas.set(schema.id, schema);
    } else if (head.op === opcode.channel) {
      const channel = channelOf(content);
      channels.set(channel.id, channel);
    } else if (head.op === opcode.chunkIndex) indexes.push(chunkIndexOf(content));
    else if (head.op === opcode.statistics) statistics = statisticsOf(content);
    at = end;
  }
  if (statistics === null || statistics.chunks !== indexes.length) return null;
  indexes.sort((a, b) => a.position - b.position);
  const chunks: McapChunk[] = [];
  let position: number = magic.length;
  let messages = 0;
  for (const index of indexes) {
    const end = index.position + index.length + index.indexLength;
    if (index.position < position || end > dataEnd) return "its index names chunks that cannot be";
    if (holdsLoose(file, position, index.position)) return null;
    const count = (index.indexLength - indexHeadBytes * index.indexPositions.size) / indexEntryBytes;
    // no index records behind the chunk, or others than the format's: nothing tells what is in it
    if (!Number.isInteger(count) || count < 0) return null;
    messages += count;
    if (index.start > index.end) return "its index names times that cannot be";
    if (count > 0) chunks.push(chunkOf(index, count));
    position = end;
  }
  if (holdsLoose(file, position, dataEnd)) return null;
  // Columns are allocated by these counts: each message has its place in an index record of this file.
  const total = [...statistics.counts.values()].reduce((sum, count) => sum + count, 0);
  if (total !== statistics.messages || total !== messages) return null;
  const connections = connectionsOf(channels, schemas);
  for (const [id, count] of statistics.counts) if (count > 0 && !connections.has(id)) return null;
  for (const { schema } of channels.values()) if (schema !== 0 && !schemas.has(schema)) return null;
  return { connections, chunks, counts: statistics.counts };
}

function chunkOf(index: ChunkIndex, messages: number): McapChunk {
  const { position, length, start, end, compression, indexPositions: channels } = index;
  return { kind: "chunk", position, length, start, end, messages, compression, channels, available: null };
}

/** Whether there are messages, or a chunk that the index leaves out, between what the index names. */
function holdsLoose(file: LogFile, from: number, to: number): boolean {
  let position = from;
  while (position < to) {
    const head = readHead(file.slice(position, headBytes));
    if (head === null || head.op === 0 || head.op === opcode.message || head.op === opcode.chunk) return true;
    position += headBytes + head.length;
  }
  return position > to;
}
