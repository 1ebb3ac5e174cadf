import type { SignalTable } from "./SignalTable.ts";

/** How the fields of a message become bytes. */
export type MessageEncoding = "ros1" | "cdr";

const text = new TextDecoder();

/**
 * Bytes of the encapsulation before a CDR message: two that name the form, two of options. The forms 00 00 and 00 01 are
 * plain CDR, big- and little-endian; the others (parameter lists, the second version) lay the fields out in another way
 * and are none that ROS writes.
 *
 * @source OMG, DDS Interoperability Wire Protocol 2.3 (RTPS), section 10
 */
const encapsulationBytes = 4;
const bigEndian = 0;
const littleEndian = 1;

/**
 * Walks the parts of a serialised message, in either encoding. Positions are returned; -1 means that the message ends
 * before, or is none.
 *
 * ROS 1 packs its fields, little-endian. CDR aligns each number to its own width, counted from the end of the
 * encapsulation, which also tells the byte order; its strings count a zero at their end. One decoder has one wire.
 */
export class Wire {
  readonly encoding: MessageEncoding;
  /** byte order of the message at hand, as DataView wants it */
  little = true;
  /** stamp of the header passed last */
  sec = 0;
  nsec = 0;
  /** where its frame_id lies */
  frameAt = 0;
  frameLength = 0;
  /** where the string passed last lies, its closing zero left out */
  textAt = 0;
  textLength = 0;
  readonly #aligned: boolean;
  #origin = 0;

  constructor(encoding: MessageEncoding) {
    this.encoding = encoding;
    this.#aligned = encoding === "cdr";
  }

  /** Where the first field of a message starts. */
  begin(view: DataView, at: number, end: number): number {
    if (!this.#aligned) return at;
    if (end - at < encapsulationBytes || view.getUint8(at) !== 0) return -1;
    const form = view.getUint8(at + 1);
    if (form !== bigEndian && form !== littleEndian) return -1;
    this.little = form === littleEndian;
    this.#origin = at + encapsulationBytes;
    return this.#origin;
  }

  /** Where a number of `width` bytes lies that comes next; -1 stays -1. */
  align(at: number, width: number): number {
    if (!this.#aligned || at < 0) return at;
    return at + ((this.#origin - at) & (width - 1));
  }

  /** Past a std_msgs/Header; takes its frame_id for the table's where that has none yet. Runs once for each message. */
  skipHeader(view: DataView, at: number, end: number, table: SignalTable | null): number {
    if (at < 0) return -1;
    // ROS 1 has a sequence number first.
    const stamp = this.#aligned ? this.align(at, 4) : at + 4;
    const name = stamp + 12;
    if (name > end) return -1;
    const { little } = this;
    const next = name + view.getUint32(stamp + 8, little);
    if (next > end) return -1;
    this.sec = view.getUint32(stamp, little);
    this.nsec = view.getUint32(stamp + 4, little);
    this.frameAt = name;
    this.frameLength = this.#textBytes(view, name, next);
    if (table !== null && table.frameId === "" && this.frameLength > 0)
      table.frameId = textAt(view, name, this.frameLength);
    return next;
  }

  /** Past a string; notes where its text lies. */
  skipString(view: DataView, at: number, end: number): number {
    const start = this.align(at, 4);
    if (start < 0 || end - start < 4) return -1;
    const next = start + 4 + view.getUint32(start, this.little);
    if (next > end) return -1;
    this.textAt = start + 4;
    this.textLength = this.#textBytes(view, start + 4, next);
    return next;
  }

  /** Bytes of a string without the zero that closes it in CDR. */
  #textBytes(view: DataView, at: number, next: number): number {
    return this.#aligned && next > at && view.getUint8(next - 1) === 0 ? next - at - 1 : next - at;
  }

  /** Number of elements of the array or strings that start here, to be asked for only where they were passed or fit. */
  count(view: DataView, at: number, end: number): number {
    const start = this.align(at, 4);
    return start < 0 || end - start < 4 ? -1 : view.getUint32(start, this.little);
  }

  /** Where the first element of an array lies whose count starts here. */
  first(at: number, width: number): number {
    return this.align(this.align(at, 4) + 4, width);
  }

  /** Past an array of numbers of `width` bytes. */
  skipArray(view: DataView, at: number, end: number, width: number): number {
    const start = this.align(at, 4);
    if (start < 0 || end - start < 4) return -1;
    const bytes = view.getUint32(start, this.little) * width;
    if (bytes === 0) return start + 4;
    const next = this.align(start + 4, width) + bytes;
    return next > end ? -1 : next;
  }

  /** Past an array of strings. */
  skipStrings(view: DataView, at: number, end: number): number {
    const count = this.count(view, at, end);
    if (count < 0) return -1;
    let next = this.align(at, 4) + 4;
    for (let i = 0; i < count && next >= 0; i++) next = this.skipString(view, next, end);
    return next;
  }
}

/** UTF-8, with a replacement character for what is none. */
export function textAt(view: DataView, at: number, length: number): string {
  return text.decode(new Uint8Array(view.buffer, view.byteOffset + at, length));
}

/** Whether the bytes at `at` are these. */
export function sameBytes(view: DataView, at: number, length: number, bytes: Uint8Array): boolean {
  if (length !== bytes.length) return false;
  for (let i = 0; i < length; i++) if (view.getUint8(at + i) !== bytes[i]) return false;
  return true;
}
