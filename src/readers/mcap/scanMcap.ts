import { largestChunk } from "../messages/codecs.ts";
import { type LogFile, RecordDamage } from "../messages/LogPart.ts";
import { Declarations, tooOften } from "./Declarations.ts";
import { connectionsOf, countsOf, firstOf, type McapChunk, type McapLayout } from "./mcapLayout.ts";
import { footerBytes, headBytes, isMagic, magic, opcode, readHead } from "./records.ts";
import { type Pass, readChunkHead, scanRecords } from "./scanRecords.ts";

/** What a scan has found so far. */
interface Found {
  readonly pass: Pass;
  readonly declarations: Declarations;
  readonly chunks: McapChunk[];
  readonly damaged: string[];
}

/**
 * Finds what the index of an MCAP file would have said, record by record, and within each chunk message by message.
 *
 * Stops behind the closing magic, where another file begins, and where a record reaches beyond the file or cannot be one.
 * Cost: one pass over what is not stepped over.
 *
 * @param start   position of the first magic
 * @param reason  why the index is not used, in words; null where the file is sound and has none that would do
 * @returns with `end`, the position of what is not of this file; the file's length where nothing tells
 */
export async function scanMcap(
  pass: Pass,
  start: number,
  reason: string | null,
): Promise<McapLayout & { readonly end: number }> {
  const { file } = pass;
  const found: Found = {
    pass,
    declarations: new Declarations(),
    chunks: [],
    damaged: [],
  };
  const { position, closed, another } = await scanFile(found, start);
  const { chunks, declarations } = found;
  const counts = countsOf(chunks);
  const connections = connectionsOf(declarations);
  const whole = closed && found.damaged.length === 0;
  // What is joined to a sound file takes the place of its index, and is reported by itself.
  const why = closed && position < file.bytes ? null : reason;
  const notes: string[] = [];
  if (why !== null || !whole) {
    const messages = chunks.reduce((sum, chunk) => sum + chunk.messages, 0);
    const packed = chunks.filter(({ kind }) => kind === "chunk").length;
    notes.push(
      `${why ?? (closed ? "it is damaged" : "it was not closed")}: scanned, ${packed} chunk(s) with ${messages} message(s) found`,
    );
  }
  if (!closed && !another && position < file.bytes)
    notes.push(`the last ${file.bytes - position} of ${file.bytes} bytes are no whole record`);
  if (found.damaged.length > 0) notes.push(`damaged: ${firstOf(found.damaged)}`);
  if (declarations.notes.length > 0) notes.push(firstOf(declarations.notes));
  notes.push(...unreadNotes(counts, connections));
  const end = closed || another ? position : file.bytes;
  return { file, start, connections, declarations, chunks, counts, notes, end };
}

/** Where a scan ended: behind the closing magic, before another file, or where no whole record is. */
interface ScanEnd {
  readonly position: number;
  readonly closed: boolean;
  readonly another: boolean;
}

async function scanFile(found: Found, start: number): Promise<ScanEnd> {
  const { file } = found.pass;
  let position = start + magic.length;
  while (position < file.bytes) {
    const bytes = file.slice(position, headBytes);
    if (isMagic(bytes)) return { position, closed: false, another: true };
    const record = readHead(bytes);
    if (record === null || record.op === 0 || (record.op === opcode.footer && record.length !== footerBytes)) break;
    const end = position + headBytes + record.length;
    if (record.op === opcode.message) {
      position = await scanLoose(found, position);
      if (readHead(file.slice(position, headBytes))?.op === opcode.message) break;
      continue;
    }
    if (record.op === opcode.chunk) await scanChunk(found, position, end);
    if (end > file.bytes) break;
    if (record.op === opcode.schema || record.op === opcode.channel)
      found.declarations.declare(record.op, file.slice(position + headBytes, Math.min(record.length, largestChunk)));
    position = end;
    if (record.op === opcode.footer) return { position: behindMagic(file, position), closed: true, another: false };
  }
  return { position, closed: false, another: false };
}

/** Behind the closing magic, or as much of it as there is before the file ends. */
function behindMagic(file: LogFile, position: number): number {
  const isThere = isMagic(file.slice(position, magic.length), file.bytes - position);
  return isThere ? Math.min(position + magic.length, file.bytes) : position;
}

/** Messages whose channels nothing declares, or that are declared again too often, in words. */
function unreadNotes(counts: McapLayout["counts"], connections: McapLayout["connections"]): string[] {
  const notes: string[] = [];
  const undeclared = [...counts].filter(([id]) => !connections.has(id) && id !== tooOften);
  if (undeclared.length > 0) {
    const lost = undeclared.reduce((sum, [, count]) => sum + count, 0);
    const ids = undeclared.map(([id]) => id);
    notes.push(`${lost} message(s) are not read: their channel(s) (${firstOf(ids, ", ")}) are declared nowhere`);
  }
  const behind = counts.get(tooOften) ?? 0;
  if (behind > 0) notes.push(`${behind} message(s) are not read: their channel(s) are declared again too often`);
  return notes;
}

async function scanChunk(found: Found, position: number, end: number): Promise<void> {
  const { file } = found.pass;
  const cut = end > file.bytes;
  try {
    const { compression, bytes } = readChunkHead(file, position);
    const available = cut ? Math.max(0, file.bytes - position - headBytes - bytes) : null;
    const place = { kind: "chunk", position, length: Math.min(end, file.bytes) - position, compression } as const;
    const { chunk, damage } = await scanRecords(found.pass, { ...place, available }, found.declarations);
    if (damage !== null)
      found.damaged.push(`the chunk at byte ${position}: ${cut ? "the file ends within it" : damage}`);
    if (chunk !== null) found.chunks.push(chunk);
  } catch (cause) {
    if (!(cause instanceof RecordDamage)) throw cause;
    found.damaged.push(`the chunk at byte ${position}: ${cut ? "the file ends within it" : cause.message}`);
  }
}

/** Messages outside of chunks, up to the next record that is none of theirs; returns where that starts. */
async function scanLoose(found: Found, position: number): Promise<number> {
  const length = found.pass.file.bytes - position;
  const place = { kind: "loose", position, length, compression: "", available: null } as const;
  const { chunk, damage, sound } = await scanRecords(found.pass, place, found.declarations);
  if (damage !== null) found.damaged.push(`the records at byte ${position + sound}: ${damage}`);
  if (chunk !== null) found.chunks.push({ ...chunk, length: sound, available: null });
  return position + sound;
}
