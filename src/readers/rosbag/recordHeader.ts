import type { Nanoseconds } from "../../foundation/units.ts";
import type { LogConnection, LogFile } from "../messages/LogPart.ts";

/** Kinds of record in a ROS bag of version 2.0. @source wiki.ros.org/Bags/Format/2.0 */
export const opcode = { message: 2, bagHeader: 3, index: 4, chunk: 5, chunkInfo: 6, connection: 7 } as const;

/** One record: a header of named fields and data behind it. */
export interface BagRecord {
  readonly op: number;
  readonly fields: ReadonlyMap<string, Uint8Array>;
  /** from the record's start to its data */
  readonly dataOffset: number;
  readonly dataLength: number;
}

const text = new TextDecoder();

/**
 * Reads the header of the record that starts at `bytes[0]`.
 *
 * @param bytes  the record's beginning; its data need not be there
 * @returns null where the bytes are no record or end within the header
 */
export function readRecordHeader(bytes: Uint8Array): BagRecord | null {
  if (bytes.length < 8) return null;
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
  const headerLength = view.getUint32(0, true);
  if (headerLength > bytes.length - 8) return null;
  const fields = readFields(bytes.subarray(4, 4 + headerLength));
  const op = fields?.get("op");
  if (fields === null || op?.length !== 1) return null;
  return { op: op[0]!, fields, dataOffset: 8 + headerLength, dataLength: view.getUint32(4 + headerLength, true) };
}

/** The named fields of a header (`length name=value` each); null where lengths or names do not fit. */
export function readFields(bytes: Uint8Array): Map<string, Uint8Array> | null {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
  const fields = new Map<string, Uint8Array>();
  let at = 0;
  while (at < bytes.length) {
    if (at + 4 > bytes.length) return null;
    const end = at + 4 + view.getUint32(at, true);
    if (end > bytes.length) return null;
    const equals = bytes.indexOf(0x3d, at + 4);
    if (equals < 0 || equals >= end) return null;
    fields.set(text.decode(bytes.subarray(at + 4, equals)), bytes.subarray(equals + 1, end));
    at = end;
  }
  return fields;
}

/** A field of four bytes as an unsigned number; null where it is missing or of another length. */
export function uint32Field(fields: ReadonlyMap<string, Uint8Array>, name: string): number | null {
  const value = fields.get(name);
  return value?.length === 4 ? new DataView(value.buffer, value.byteOffset, 4).getUint32(0, true) : null;
}

/** A field of eight bytes as an unsigned number; null where it is missing, of another length or beyond 2^53. */
export function uint64Field(fields: ReadonlyMap<string, Uint8Array>, name: string): number | null {
  const value = fields.get(name);
  if (value?.length !== 8) return null;
  const number = new DataView(value.buffer, value.byteOffset, 8).getBigUint64(0, true);
  return number <= BigInt(Number.MAX_SAFE_INTEGER) ? Number(number) : null;
}

/** A field as text (UTF-8); "" where it is missing. */
export function textField(fields: ReadonlyMap<string, Uint8Array>, name: string): string {
  const value = fields.get(name);
  return value === undefined ? "" : text.decode(value);
}

/** Messages of one connection in one chunk. */
interface ChunkShare {
  readonly count: number;
  /** first and last receipt time; null where only the index knows it */
  readonly start: Nanoseconds | null;
  readonly end: Nanoseconds | null;
}

/** Where one chunk lies, and what the index (or the scan) says of it. */
export interface BagChunk {
  readonly position: number;
  /** where the next thing in the file begins: the chunk and its index records end here or before */
  readonly limit: number;
  /** first and last receipt time, start <= end */
  readonly start: Nanoseconds;
  readonly end: Nanoseconds;
  /** by connection */
  readonly shares: ReadonlyMap<number, ChunkShare>;
  /** length of the chunk's data that is really there; null: all of it */
  readonly available: number | null;
}

/** A bag opened: everything but the messages. */
export interface BagLayout {
  readonly file: LogFile;
  readonly connections: ReadonlyMap<number, LogConnection>;
  /** in the order of the file */
  readonly chunks: readonly BagChunk[];
  /** first and last receipt time; null where there is no message */
  readonly start: Nanoseconds | null;
  readonly end: Nanoseconds | null;
  /** what was lost and how the rest was found, in words */
  readonly notes: readonly string[];
}

/** Nanoseconds of the two 32-bit words in which ROS 1 keeps an instant. */
export function instant(sec: number, nsec: number): Nanoseconds {
  return BigInt(sec) * 1_000_000_000n + BigInt(nsec);
}
