import { crc32 } from "node:zlib";
import { unpackRecords, walkWindows } from "../messages/chunkRecords.ts";
import { mostBelieved } from "../messages/codecs.ts";
import { type LogFile, RecordDamage } from "../messages/LogPart.ts";
import { Scratch } from "../messages/MessageDecoder.ts";
import { timeRange } from "../messages/timeRange.ts";
import type { Declarations } from "./Declarations.ts";
import type { McapChunk, Share } from "./mcapLayout.ts";
import { type ChunkHead, chunkHeadOf, headBytes, opcode, readHead } from "./records.ts";
import { type McapWalk, newWalk, type RecordVisitor, walkRecords } from "./walkRecords.ts";

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

type Place = Pick<McapChunk, "kind" | "position" | "length" | "compression" | "available">;

/**
 * Walks a chunk, or a stretch outside of chunks, and counts what is in it.
 *
 * @param declarations  those before it, to which its own are added
 * @returns the chunk as it is to be read, null where it holds no message; where its records are damaged, why; and the
 *          length of those that are sound
 */
export async function scanRecords(
  pass: Pass,
  place: Place,
  declarations?: Declarations,
): Promise<{ chunk: McapChunk | null; damage: string | null; sound: number }> {
  const drafts = new Map<number, { -readonly [key in keyof Share]: Share[key] }>();
  const visitor: RecordVisitor = {
    targets: new Map(),
    seen: (number, high, low) => {
      const channel = declarations?.of(number) ?? number;
      const time = (BigInt(high) << 32n) | BigInt(low);
      const share = drafts.get(channel);
      if (share === undefined) drafts.set(channel, { count: 1, start: time, end: time });
      else {
        share.count++;
        if (time < share.start) share.start = time;
        if (time > share.end) share.end = time;
      }
    },
    ...(declarations === undefined ? {} : { described: (op, bytes) => declarations.declare(op, bytes) }),
  };
  const inForce = declarations?.inForce();
  const state = newWalk();
  let damage: string | null = null;
  try {
    await readChunk(pass, place, visitor, state);
  } catch (cause) {
    if (!(cause instanceof RecordDamage)) throw cause;
    damage = cause.message;
  }
  const { start, end } = timeRange(drafts.values());
  // What was stepped over at the damage must not be met again: the chunk is read as far as it was sound.
  const available = damage !== null && place.compression === "" ? state.next : place.available;
  if (start === null || end === null) return { chunk: null, damage, sound: state.next };
  const counted = { start, end, messages: state.messages, channels: drafts };
  const chunk = { ...place, available, ...counted, ...(inForce === undefined ? {} : { inForce }) };
  return { chunk, damage, sound: state.next };
}

/** One pass over the chunks of a file: the buffer that it uses again for each, and how much it has unpacked. */
export class Pass {
  readonly file: LogFile;
  /** room for one chunk */
  readonly scratch = new Scratch();
  #unpacked = 0;

  constructor(file: LogFile) {
    this.file = file;
  }

  /** A buffer of a length that was checked; valid until the next call. */
  take(length: number): Uint8Array {
    return this.scratch.take(length);
  }

  /** To be asked before a chunk is unpacked. @throws RecordDamage  more than any log can need: each chunk alone takes seconds */
  unpack(size: number): void {
    const allowed = mostBelieved(this.file.bytes);
    if (this.#unpacked + size > allowed)
      throw new RecordDamage(
        `with it, chunks of a file of ${this.file.bytes} bytes would become more than the ${allowed} that are believed`,
      );
    this.#unpacked += size;
  }
}
