import type { LogFile } from "../messages/LogPart.ts";

const blockLength = 4 * 1024 * 1024;
const longestMessage = 3 + 65_535;
const kinds = new Set([..."BFIMPQARDLCSO"].map((letter) => letter.charCodeAt(0)));
/** How many messages in a row must look sound where the next one is searched for. */
const soundInARow = 4;

/** A window on the file in which the message at hand lies whole. */
export class UlogCursor {
  kind = 0;
  view: DataView = new DataView(new ArrayBuffer(0));
  from = 0;
  to = 0;
  readonly #file: LogFile;
  #start = 0;

  constructor(file: LogFile) {
    this.#file = file;
  }

  /** Finds the message at a place of the file; gives the place after it, or null where there is none that ends by `limit`. */
  message(at: number, limit: number): number | null {
    if (at + 3 > limit) return null;
    this.#reach(at);
    const local = at - this.#start;
    const size = this.view.getUint16(local, true);
    const kind = this.view.getUint8(local + 2);
    if (!kinds.has(kind) || size === 0 || at + 3 + size > limit) return null;
    this.kind = kind;
    this.from = local + 3;
    this.to = this.from + size;
    return at + 3 + size;
  }

  /** The next place from which several messages follow each other; null where there is none. */
  resume(from: number, limit: number): number | null {
    for (let at = from; at + 3 <= limit; at++) {
      let next: number | null = at;
      let sound = 0;
      while (sound < soundInARow && next !== null && next < limit) {
        next = this.message(next, limit);
        if (next !== null) sound++;
      }
      // at the end of the file fewer must do
      if (sound >= soundInARow || (next === limit && sound > 0)) return at;
    }
    return null;
  }

  #reach(at: number): void {
    const end = this.#start + this.view.byteLength;
    if (at >= this.#start && (at + longestMessage <= end || end >= this.#file.bytes)) return;
    const bytes = this.#file.slice(at, blockLength);
    this.#start = at;
    this.view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
  }
}

/**
 * Whether a message holds what its kind says, as far as that is fixed: one flipped bit makes a text of a data message. Data messages are
 * held against their formats elsewhere.
 *
 * @source PX4 User Guide, ULog File Format
 */
export function holdsItsKind(kind: number, view: DataView, from: number, to: number): boolean {
  const size = to - from;
  const first = view.getUint8(from);
  switch (String.fromCharCode(kind)) {
    case "R":
    case "O":
      return size === 2;
    case "S":
      return size === 8;
    // the level is a digit, the stamp takes eight bytes
    case "L":
      return size >= 9 && first >= 0x30 && first <= 0x37;
    case "C":
      return size >= 11 && first >= 0x30 && first <= 0x37;
    // the key's length stands first, or behind a byte of flags
    case "P":
    case "I":
      return 1 + first <= size;
    case "M":
    case "Q":
      return size >= 2 && 2 + view.getUint8(from + 1) <= size;
    case "A":
      return size > 3 && isText(view, from + 3, to);
    case "F":
      return isText(view, from, to);
    default:
      return true;
  }
}

function isText(view: DataView, from: number, to: number): boolean {
  for (let at = from; at < to; at++) if (view.getUint8(at) < 0x20 || view.getUint8(at) > 0x7e) return false;
  return true;
}
