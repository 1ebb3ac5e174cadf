import { crc32 } from "node:zlib";
import { unpackRecords, walkWindows } from "../messages/chunkRecords.ts";
import { type LogFile, RecordDamage } from "../messages/LogPart.ts";
import type { McapChunk } from "./mcapLayout.ts";
import type { Pass } from "./Pass.ts";
import { type ChunkHead, chunkHeadOf, headBytes, opcode, readHead } from "./records.ts";
import { type McapWalk, type RecordVisitor, walkRecords } from "./walkRecords.ts";

/** Unpacked chunks up to this length are read whole and held against their checksum; recorders write about 1 MB. */
const wholeChunk = 1 << 22;
/** Longer than any chunk's own fields, bytes. */
const longestHead = 256;

/** What a chunk's checksum says of it; `not held`: too long, or cut, to be held against it. */
export type Checksum = "fits" | "differs" | "not held";

/** A chunk's own fields. @throws RecordDamage  no chunk there, or fields that cannot be */
export function readChunkHead(file: LogFile, position: number): ChunkHead {
  const bytes = file.slice(position, longestHead);
  const record = readHead(bytes);
  if (record?.op !== opcode.chunk) throw new RecordDamage("no chunk where one should be");
  const head = chunkHeadOf(bytes.subarray(headBytes));
  if (head.bytes + head.packed > record.length) throw new RecordDamage("its records are longer than itself");
  return head;
}

/**
 * Walks all records of one chunk, or of a stretch outside of chunks.
 *
 * What is not packed is read in windows where it is long, and what nobody wants is stepped over unread. Memory: one
 * window, or one chunk packed and unpacked.
 *
 * @returns `fits` also where the chunk has no checksum
 * @throws RecordDamage  the chunk is not there, cannot be unpacked, or holds what cannot be; `state` tells how many
 *                       messages were met before
 * @throws LogError      code `log-unreadable`: packed in a way that is not known
 */
export async function readChunk(
  pass: Pass,
  chunk: Pick<McapChunk, "kind" | "position" | "length" | "available">,
  visitor: RecordVisitor,
  state: McapWalk,
): Promise<Checksum> {
  const { file } = pass;
  if (chunk.kind === "loose") {
    const length = Math.min(chunk.available ?? chunk.length, file.bytes - chunk.position);
    walkUnpacked(pass, { position: chunk.position, length, loose: true }, visitor, state);
    return "fits";
  }
  const { bytes, packed: length, size, crc, compression } = readChunkHead(file, chunk.position);
  const position = chunk.position + headBytes + bytes;
  const there = file.bytes - position;
  if (compression === "") {
    if (chunk.available === null && length <= wholeChunk && length <= there) {
      const whole = pass.take(length);
      file.readInto(whole, position, length);
      walkRecords(whole, 0, length, state, visitor);
      return fits(whole, crc) ? "fits" : "differs";
    }
    const stretch = { position, length: Math.min(length, chunk.available ?? length), loose: false };
    walkUnpacked(pass, stretch, visitor, state);
    return crc === 0 ? "fits" : "not held";
  }
  const records = await unpackRecords(pass, { compression, position, length, size }, packings, (size) =>
    pass.unpack(size),
  );
  walkRecords(records, 0, size, state, visitor);
  return fits(records, crc) ? "fits" : "differs";
}

const packings = {
  names: ["lz4", "zstd"],
  words: "none, lz4 or zstd",
  hint: "write the file again with one of these",
};

/** Whether bytes fit a checksum; 0 stands for none. */
export function fits(bytes: Uint8Array, crc: number): boolean {
  return crc === 0 || crc32(bytes) === crc;
}

function walkUnpacked(
  pass: Pass,
  stretch: { position: number; length: number; loose: boolean },
  visitor: RecordVisitor,
  state: McapWalk,
): void {
  const { file, scratch } = pass;
  const { loose } = stretch;
  walkWindows({ file, scratch, state }, stretch, (window, from, total) => {
    walkRecords(window, from, total, state, visitor, { loose });
    return !state.stopped;
  });
}
