import type { Nanoseconds } from "../../foundation/units.ts";
import type { LogFile } from "../messages/LogFile.ts";
import type { LogConnection } from "../messages/LogPart.ts";

/** Messages of one connection in one chunk. */
export interface ChunkShare {
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
