import { LogError } from "../../foundation/errors.ts";
import { codecFor, sizeFault } from "../messages/codecs.ts";
import type { LogFile } from "../messages/LogFile.ts";
import { RecordDamage } from "../messages/RecordDamage.ts";
import type { Scratch } from "../messages/Scratch.ts";
import type { BagChunk } from "./bagLayout.ts";
import { opcode, readRecordHeader, textField, uint32Field } from "./recordHeader.ts";
import { type RecordVisitor, type WalkState, walkRecords } from "./walkRecords.ts";

/** The header of a chunk: where its data lie and how they are packed. */
export interface ChunkHeader {
  readonly compression: string;
  /** length of the data once unpacked */
  readonly size: number;
  readonly dataPosition: number;
  readonly dataLength: number;
}

/** Windows on uncompressed data, bytes: small after something long was stepped over, large in a dense stretch. */
const smallWindow = 1 << 14;
const largeWindow = 1 << 18;

const knownCompressions: readonly string[] = ["none", "lz4", "bz2"];

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
  if (compression === "none") {
    walkWindows(file, dataPosition, Math.min(dataLength, chunk.available ?? dataLength), scratch, visitor, state);
    return;
  }
  const known = knownCompressions.includes(compression) ? codecFor(compression) : null;
  const codec = await (known ?? unknownCompression(file, compression));
  if (dataPosition + dataLength > file.bytes) throw new RecordDamage("the file ends within it");
  const fault = sizeFault(compression, dataLength, size);
  if (fault !== null) throw new RecordDamage(fault);
  const packed = scratch.take(dataLength);
  file.readInto(packed, dataPosition, dataLength);
  let data: Uint8Array;
  try {
    data = await codec(packed, size, scratch);
  } catch {
    throw new RecordDamage(`its ${compression} data cannot be unpacked`);
  }
  if (data.length !== size) throw new RecordDamage(`unpacked to ${data.length} bytes, expected ${size}`);
  walkRecords(data, 0, size, state, visitor);
}

function walkWindows(
  file: LogFile,
  position: number,
  length: number,
  scratch: Scratch,
  visitor: RecordVisitor,
  state: WalkState,
): void {
  const total = Math.min(length, file.bytes - position);
  let window = smallWindow;
  while (state.next < total) {
    const from = state.next;
    const wanted = Math.min(Math.max(window, state.needed), total - from);
    const bytes = scratch.take(wanted);
    if (file.readInto(bytes, position + from, wanted) < wanted) throw new RecordDamage("the file ends within it");
    walkRecords(bytes, from, total, state, visitor);
    const jumped = state.next > from + wanted;
    window = jumped ? smallWindow : Math.min(largeWindow, window * 4);
  }
}

function unknownCompression(file: LogFile, compression: string): never {
  if (!/^[a-z][a-z0-9]+$/.test(compression)) throw new RecordDamage("the name of its compression is none");
  throw new LogError(
    "log-unreadable",
    `found a chunk packed with "${compression}", expected ${knownCompressions.join(", ")}`,
    { place: file.path, hint: "unpack the bag with the tool that recorded it" },
  );
}
