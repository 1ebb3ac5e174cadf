import * as zlib from "node:zlib";
import { LogError } from "../../foundation/errors.ts";
import { codecFor, largestChunk, sizeFault } from "../messages/codecs.ts";
import type { LogFile } from "../messages/LogFile.ts";
import { RecordDamage } from "../messages/RecordDamage.ts";
import type { McapChunk } from "./mcapLayout.ts";
import type { Pass } from "./Pass.ts";
import { type ChunkHead, chunkHeadOf, headBytes, opcode, readHead } from "./records.ts";
import { type RecordVisitor, type WalkState, walkRecords } from "./walkRecords.ts";

/** Windows on unpacked records, bytes: small after something long was stepped over, large in a dense stretch. */
const smallWindow = 1 << 14;
const largeWindow = 1 << 18;
/** Unpacked chunks up to this length are read whole and held against their checksum; recorders write about 1 MB. */
const wholeChunk = 1 << 22;
/** Longer than any chunk's own fields, bytes. */
const longestHead = 256;

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
 * @returns whether the chunk's checksum fits; true where it has none or is too long to be held against it
 * @throws RecordDamage  the chunk is not there, cannot be unpacked, or holds what cannot be; `state` tells how many
 *                       messages were met before
 * @throws LogError      code `log-unreadable`: packed in a way that is not known
 */
export async function readChunk(
  pass: Pass,
  chunk: Pick<McapChunk, "kind" | "position" | "length" | "available">,
  visitor: RecordVisitor,
  state: WalkState,
): Promise<boolean> {
  const { file } = pass;
  if (chunk.kind === "loose") {
    const length = Math.min(chunk.available ?? chunk.length, file.bytes - chunk.position);
    walkWindows(pass, { position: chunk.position, length, loose: true }, visitor, state);
    return true;
  }
  const { bytes, packed: length, size, crc, compression } = readChunkHead(file, chunk.position);
  const position = chunk.position + headBytes + bytes;
  const there = file.bytes - position;
  if (compression === "") {
    if (chunk.available === null && length <= wholeChunk && length <= there) {
      const whole = pass.take(length);
      file.readInto(whole, position, length);
      walkRecords(whole, 0, length, state, visitor);
      return fits(whole, crc);
    }
    walkWindows(
      pass,
      { position, length: Math.min(length, chunk.available ?? length, there), loose: false },
      visitor,
      state,
    );
    return true;
  }
  const known = knownCompressions.includes(compression) ? codecFor(compression) : null;
  const codec = await (known ?? unknownCompression(file, compression));
  if (length > there) throw new RecordDamage("the file ends within it");
  const fault = sizeFault(compression, length, size);
  if (fault !== null) throw new RecordDamage(fault);
  pass.unpack(size);
  const packed = pass.take(length);
  file.readInto(packed, position, length);
  let records: Uint8Array;
  try {
    records = await codec(packed, size, pass.scratch);
  } catch {
    throw new RecordDamage(`its ${compression} data cannot be unpacked`);
  }
  if (records.length !== size) throw new RecordDamage(`unpacked to ${records.length} bytes, expected ${size}`);
  walkRecords(records, 0, size, state, visitor);
  return fits(records, crc);
}

const knownCompressions: readonly string[] = ["lz4", "zstd"];

/** Whether bytes fit a checksum; 0 stands for none. Node before 20.15 has no fast way to tell: taken as fitting. */
export function fits(bytes: Uint8Array, crc: number): boolean {
  return crc === 0 || typeof zlib.crc32 !== "function" || zlib.crc32(bytes) === crc;
}

function walkWindows(
  pass: Pass,
  stretch: { position: number; length: number; loose: boolean },
  visitor: RecordVisitor,
  state: WalkState,
): void {
  const { position, length, loose } = stretch;
  let window = smallWindow;
  while (state.next < length && !state.stopped) {
    const from = state.next;
    if (state.needed > largestChunk) throw new RecordDamage(`a record of ${state.needed} bytes`);
    const wanted = Math.min(Math.max(window, state.needed), length - from);
    const bytes = pass.take(wanted);
    if (pass.file.readInto(bytes, position + from, wanted) < wanted) throw new RecordDamage("the file ends within it");
    walkRecords(bytes, from, length, state, visitor, { loose });
    const jumped = state.next > from + wanted;
    window = jumped ? smallWindow : Math.min(largeWindow, window * 4);
  }
}

function unknownCompression(file: LogFile, compression: string): never {
  if (!/^[a-z][a-z0-9]+$/.test(compression)) throw new RecordDamage("the name of its compression is none");
  throw new LogError(
    "log-unreadable",
    `found a chunk packed with "${compression}", expected none, ${knownCompressions.join(" or ")}`,
    { place: file.path, hint: "write the file again with one of these" },
  );
}
