import { unpackRecords, type WalkState, walkWindows } from "../messages/chunkRecords.ts";
import { type LogFile, RecordDamage } from "../messages/LogPart.ts";
import type { Scratch } from "../messages/MessageDecoder.ts";
import { type BagChunk, opcode, readRecordHeader, textField, uint32Field } from "./recordHeader.ts";
import { type RecordVisitor, walkRecords } from "./walkRecords.ts";

/** The header of a chunk: where its data lie and how they are packed. */
export interface ChunkHeader {
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
