import type { StampColumn } from "../../foundation/recording.ts";
import type { Nanoseconds } from "../../foundation/units.ts";

/** What a table gives once it is complete. Rows are in order of receipt, or as logged where that alone is known of it. */
export interface FinishedTable {
  readonly frameId: string;
  readonly received: StampColumn;
  readonly stamped: StampColumn | null;
  /** when the message was published, where the log keeps that beside its receipt */
  readonly published?: StampColumn;
  readonly zeroStamps: number;
  readonly columns: Readonly<Record<string, Float64Array>>;
  readonly given: Readonly<Record<string, Uint8Array>>;
}

/** Header stamps this far from the log's own start count as another epoch (boot time, say), nanoseconds. */
const sameEpoch = 100n * 86_400n * 1_000_000_000n;

/**
 * Columns of one signal while they are filled, allocated once at the size the index announces.
 *
 * Grows where the index announced too little; is cut to its rows at the end, which costs nothing where it is exact.
 * Memory per row: 8 bytes for receipt, stamp and each column, 1 for each mask.
 */
export class SignalTable {
  rows = 0;
  /** messages that gave no row because they were too short or too long for their type, or held nothing */
  dropped = 0;
  frameId = "";
  /** receipt time of the message at hand, seconds after the log's start; set by the reader before each message */
  receipt = 0;
  /** time of publication of the message at hand, likewise; only for a table that keeps it */
  publication = 0;
  readonly columns: Float64Array[];
  readonly masks: (Uint8Array | null)[];
  readonly #names: string[];
  readonly #asLogged: boolean;
  #received: Float64Array;
  #published: Float64Array | null;
  /** pairs of seconds and nanoseconds, turned into doubles in place at the end: both take eight bytes */
  #stamps: Uint32Array<ArrayBuffer> | null;
  #capacity: number;

  constructor(
    names: readonly string[],
    options: {
      capacity: number;
      stamped: boolean;
      maskable?: readonly string[];
      published?: boolean;
      /** the log has no times of receipt of its own: rows stay in its order, so that a stamp that goes back is seen */
      asLogged?: boolean;
    },
  ) {
    const { capacity, stamped, maskable = [], published = false, asLogged = false } = options;
    this.#asLogged = asLogged;
    this.#capacity = capacity;
    this.#names = [...names];
    this.columns = names.map(() => new Float64Array(capacity));
    this.masks = names.map((name) => (maskable.includes(name) ? new Uint8Array(capacity) : null));
    this.#received = new Float64Array(capacity);
    this.#stamps = stamped ? new Uint32Array(2 * capacity) : null;
    this.#published = published ? new Float64Array(capacity) : null;
  }

  /**
   * Starts a row for the message at hand; its columns are to be set by the caller.
   *
   * @returns the row
   */
  addRow(stampSec: number, stampNsec: number): number {
    const row = this.rows;
    if (row === this.#capacity) this.#grow();
    this.#received[row] = this.receipt;
    if (this.#published !== null) this.#published[row] = this.publication;
    if (this.#stamps !== null) {
      this.#stamps[2 * row] = stampSec;
      this.#stamps[2 * row + 1] = stampNsec;
    }
    this.rows = row + 1;
    return row;
  }

  /** For a table that began without columns: makes sure that it has `count`, named `prefix0`, `prefix1`, ...; rows before a new one hold NaN in it. */
  widen(prefix: string, count: number): void {
    for (let i = this.columns.length; i < count; i++) {
      this.#names.push(`${prefix}${i}`);
      this.columns.push(new Float64Array(this.#capacity).fill(Number.NaN));
      this.masks.push(null);
    }
  }

  /** @param start  the log's start: the epoch of receipt, and of stamps of the same epoch */
  finish(start: Nanoseconds): FinishedTable {
    const order = this.#order();
    const sorted = (values: Float64Array): Float64Array =>
      order === null ? cut(values, this.rows) : Float64Array.from(order, (row) => values[row]!);
    const stamps = this.#finishStamps(start);
    const given: Record<string, Uint8Array> = {};
    const columns: Record<string, Float64Array> = {};
    for (const [i, name] of this.#names.entries()) {
      columns[name] = sorted(this.columns[i]!);
      const mask = this.masks[i];
      if (mask) given[name] = order === null ? mask.slice(0, this.rows) : Uint8Array.from(order, (row) => mask[row]!);
    }
    return {
      frameId: this.frameId,
      received: { epoch: start, seconds: sorted(this.#received) },
      stamped: stamps === null ? null : { epoch: stamps.epoch, seconds: sorted(stamps.seconds) },
      ...(this.#published === null ? {} : { published: { epoch: start, seconds: sorted(this.#published) } }),
      zeroStamps: stamps?.zero ?? 0,
      columns,
      given,
    };
  }

  /** Rows in order of receipt, equal times in the order of the log; null where they already are. */
  #order(): Uint32Array | null {
    const received = this.#received;
    let ordered = true;
    if (this.#asLogged) return null;
    for (let row = 1; row < this.rows && ordered; row++) ordered = received[row]! >= received[row - 1]!;
    if (ordered) return null;
    return Uint32Array.from({ length: this.rows }, (_, row) => row).sort(
      (a, b) => received[a]! - received[b]! || a - b,
    );
  }

  #finishStamps(start: Nanoseconds): { epoch: Nanoseconds; seconds: Float64Array; zero: number } | null {
    const stamps = this.#stamps;
    if (stamps === null) return null;
    const epoch = stampEpoch(stamps, this.rows, start);
    const zero = toSeconds(stamps, this.rows, Number(epoch / 1_000_000_000n), Number(epoch % 1_000_000_000n));
    return { epoch, seconds: new Float64Array(stamps.buffer), zero };
  }

  #grow(): void {
    const capacity = Math.max(64, Math.ceil(this.#capacity * 1.5));
    const longer = (old: Float64Array): Float64Array => {
      const grown = new Float64Array(capacity);
      grown.set(old);
      return grown;
    };
    this.#received = longer(this.#received);
    if (this.#published !== null) this.#published = longer(this.#published);
    for (let i = 0; i < this.columns.length; i++) {
      this.columns[i] = longer(this.columns[i]!);
      const mask = this.masks[i];
      if (mask) {
        const grown = new Uint8Array(capacity);
        grown.set(mask);
        this.masks[i] = grown;
      }
    }
    if (this.#stamps !== null) {
      const grown = new Uint32Array(2 * capacity);
      grown.set(this.#stamps);
      this.#stamps = grown;
    }
    this.#capacity = capacity;
  }
}

/**
 * Seconds from one instant to another, each in whole seconds and nanoseconds.
 *
 * The difference is exact in nanoseconds up to 104 days and then rounded once.
 */
export function secondsAfter(sec: number, nsec: number, epochSec: number, epochNsec: number): number {
  return ((sec - epochSec) * 1e9 + (nsec - epochNsec)) / 1e9;
}

/**
 * Turns pairs of seconds and nanoseconds into doubles where they stand: each takes eight bytes either way.
 *
 * @returns how many were zero; those become NaN
 */
function toSeconds(stamps: Uint32Array<ArrayBuffer>, rows: number, epochSec: number, epochNsec: number): number {
  const seconds = new Float64Array(stamps.buffer);
  let zero = 0;
  for (let row = 0; row < rows; row++) {
    const sec = stamps[2 * row]!;
    const nsec = stamps[2 * row + 1]!;
    if (sec === 0 && nsec === 0) {
      seconds[row] = Number.NaN;
      zero++;
    } else seconds[row] = secondsAfter(sec, nsec, epochSec, epochNsec);
  }
  return zero;
}

/** The log's start where the middle stamp lies within 100 days of it, else the earliest stamp within 100 days of the middle one. */
function stampEpoch(stamps: Uint32Array, rows: number, start: Nanoseconds): Nanoseconds {
  const at = (row: number): Nanoseconds => BigInt(stamps[2 * row]!) * 1_000_000_000n + BigInt(stamps[2 * row + 1]!);
  const near = (a: Nanoseconds, b: Nanoseconds): boolean => (a > b ? a - b : b - a) < sameEpoch;
  let middle = Math.floor(rows / 2);
  while (middle < rows && at(middle) === 0n) middle++;
  if (middle >= rows) {
    middle = Math.floor(rows / 2) - 1;
    while (middle >= 0 && at(middle) === 0n) middle--;
  }
  if (middle < 0) return start;
  const anchor = at(middle);
  if (near(anchor, start)) return start;
  let epoch = anchor;
  for (let row = 0; row < rows; row++) {
    const stamp = at(row);
    if (stamp !== 0n && stamp < epoch && near(stamp, anchor)) epoch = stamp;
  }
  return epoch;
}

function cut(values: Float64Array, rows: number): Float64Array {
  return values.length === rows ? values : values.slice(0, rows);
}
