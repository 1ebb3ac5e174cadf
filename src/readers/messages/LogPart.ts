import { closeSync, fstatSync, openSync, readSync } from "node:fs";
import type { Nanoseconds } from "../../foundation/units.ts";
import { cannotRead, notAFile } from "../logFormat.ts";

/** One publisher of one topic, or one channel. Several may share a topic. */
export interface LogConnection {
  readonly id: number;
  readonly topic: string;
  /** as the log writes it: geometry_msgs/PoseStamped, or geometry_msgs/msg/PoseStamped in ROS 2 */
  readonly type: string;
  /** how its messages are serialised; only "ros1" and "cdr" can be decoded */
  readonly encoding: string;
  /** ROS 1's sum over the definition; "*" or "" where the log does not say */
  readonly md5: string;
  readonly definition: string;
  /** how the definition is written: as ROS message text, or otherwise */
  readonly definitionFormat: "msg" | "other";
}

/**
 * Called for one message; its bytes are `view` from `at` (inclusive) to `end` (exclusive), valid only during the call.
 * The two words are its receipt time as the format keeps it; the part's `clock` turns them into seconds.
 */
export type MessageTarget = (first: number, second: number, view: DataView, at: number, end: number) => void;

/** Whether messages received in this stretch of time (both ends included) can be wanted. */
export type Wanted = (start: Nanoseconds, end: Nanoseconds) => boolean;

/** One file of a log, opened: everything but its messages. */
export interface LogPart {
  readonly path: string;
  readonly bytes: number;
  readonly connections: ReadonlyMap<number, LogConnection>;
  /** first and last receipt time; null where there is no message */
  readonly start: Nanoseconds | null;
  readonly end: Nanoseconds | null;
  readonly compression: () => readonly string[];
  /** what was lost and how the rest was found, in words */
  readonly notes: readonly string[];
  /** messages of some connections, as far as the index tells; with `wanted` it may tell too many */
  messagesOf(ids: ReadonlySet<number>, wanted?: Wanted): number;
  /** first and last receipt time of some connections */
  rangeOf(ids: ReadonlySet<number>): { start: Nanoseconds | null; end: Nanoseconds | null };
  /**
   * Hands the messages of connections that have a target to it, in the order of the file. What holds none is not read.
   *
   * @returns what could not be read, in words
   */
  readMessages(targets: ReadonlyMap<number, MessageTarget>, wanted?: Wanted): Promise<readonly string[]>;
  /** chunks read so far that have a checksum and could not be held against it; absent where the format has none */
  unverified?(): number;
  /** seconds from `start` to the instant of two words, rounded once */
  clock(start: Nanoseconds): (first: number, second: number) => number;
  /**
   * seconds from `start` to the publication of a message handed to a target, whose bytes begin at `at`; undefined where the
   * format keeps receipt alone
   */
  publication?(start: Nanoseconds): (view: DataView, at: number) => number;
  close(): void;
}

/**
 * A log on disk, read by position. Never holds more than was asked for.
 *
 * Reads are synchronous: from the page cache one costs two microseconds, a promise fifty, and a bag with a
 * camera in it takes thousands of small ones.
 *
 * @throws LogError  code `log-unreadable`: no such file, a folder, no permission
 */
export class LogFile {
  readonly path: string;
  readonly bytes: number;
  readonly #descriptor: number;

  constructor(path: string) {
    this.path = path;
    try {
      this.#descriptor = openSync(path, "r");
    } catch (cause) {
      throw cannotRead(path, cause);
    }
    const stat = fstatSync(this.#descriptor);
    this.bytes = stat.size;
    if (!stat.isFile()) {
      closeSync(this.#descriptor);
      if (stat.isDirectory()) throw cannotRead(path, { code: "EISDIR" });
      throw notAFile(path);
    }
  }

  /**
   * Fills `into` from `position` on.
   *
   * @returns the bytes read: less than asked for only at the end of the file
   */
  readInto(into: Uint8Array, position: number, length: number): number {
    let done = 0;
    while (done < length) {
      const count = readSync(this.#descriptor, into, done, length - done, position + done);
      if (count === 0) break;
      done += count;
    }
    return done;
  }

  /**
   * The bytes [position, position + length), or as many of them as the file has.
   *
   * Allocates no more than the file is long, whatever length a damaged record claims.
   */
  slice(position: number, length: number): Uint8Array {
    const available = Math.max(0, Math.min(length, this.bytes - position));
    const into = new Uint8Array(available);
    return into.subarray(0, this.readInto(into, position, available));
  }

  close(): void {
    closeSync(this.#descriptor);
  }
}

/** The bytes are not the records they should be. What was visited before it stands. */
export class RecordDamage extends Error {}
