import { LogError } from "../../foundation/errors.ts";
import { codecFor, largestChunk, sizeFault } from "./codecs.ts";
import { type LogFile, RecordDamage } from "./LogPart.ts";
import type { Scratch } from "./MessageDecoder.ts";

/** Where a walk over the records of a chunk stands. Positions count from the start of the chunk's records. */
export interface WalkState {
  /** where the next record starts, or the damaged one; may lie beyond the window where a long record was stepped over */
  next: number;
  /** bytes from `next` that must be in the window to go on; 0: any */
  needed: number;
  /** messages met so far, wanted or not */
  messages: number;
}

/** Damage of the record at a position; the walk stands there. */
export function damageAt(state: WalkState, position: number, words: string): RecordDamage {
  state.next = position;
  return new RecordDamage(words);
}

/** Windows on records that are not packed, bytes: small after something long was stepped over, large in a dense stretch. */
const smallWindow = 1 << 14;
const largeWindow = 1 << 18;

/**
 * Walks records that are not packed in windows; what nobody wants is stepped over unread where it is longer than the window, so
 * that a log full of camera images costs what the poses in it cost.
 *
 * @param stretch  where the records lie in the file; what lies behind its end is not there
 * @param walk     walks a window of the records from `from` on, and says whether it goes on
 * @throws RecordDamage  the file ends within the records; what the walk throws
 */
export function walkWindows(
  { file, scratch, state }: { file: LogFile; scratch: Scratch; state: WalkState },
  { position, length }: { position: number; length: number },
  walk: (window: Uint8Array, from: number, total: number) => boolean,
): void {
  const total = Math.min(length, file.bytes - position);
  let window = smallWindow;
  while (state.next < total) {
    const from = state.next;
    if (state.needed > largestChunk) throw new RecordDamage(`a record of ${state.needed} bytes`);
    const wanted = Math.min(Math.max(window, state.needed), total - from);
    const bytes = scratch.take(wanted);
    if (file.readInto(bytes, position + from, wanted) < wanted) throw new RecordDamage("the file ends within it");
    if (!walk(bytes, from, total)) return;
    const jumped = state.next > from + wanted;
    window = jumped ? smallWindow : Math.min(largeWindow, window * 4);
  }
}

/** The packed records of a chunk, as its own fields say. */
export interface PackedRecords {
  readonly compression: string;
  readonly position: number;
  readonly length: number;
  /** once unpacked */
  readonly size: number;
}

/**
 * Unpacks the records of a chunk. Lengths are checked before memory is taken for them.
 *
 * @param known  the compressions of the format, and what to do about a file with another
 * @param allow  asked before the chunk is unpacked; throws where it is not to be
 * @throws RecordDamage  the file ends within the chunk, or what it holds cannot be unpacked to what it says
 * @throws LogError      code `log-unreadable`: packed in a way that is not known
 */
export async function unpackRecords(
  { file, scratch }: { file: LogFile; scratch: Scratch },
  { compression, position, length, size }: PackedRecords,
  known: { readonly names: readonly string[]; readonly words: string; readonly hint: string },
  allow: (size: number) => void = () => undefined,
): Promise<Uint8Array> {
  const found = known.names.includes(compression) ? codecFor(compression) : null;
  if (found === null && !/^[a-z][a-z0-9]+$/.test(compression))
    throw new RecordDamage("the name of its compression is none");
  if (found === null)
    throw new LogError("log-unreadable", `found a chunk packed with "${compression}", expected ${known.words}`, {
      place: file.path,
      hint: known.hint,
    });
  const codec = await found;
  if (position + length > file.bytes) throw new RecordDamage("the file ends within it");
  const fault = sizeFault(compression, length, size);
  if (fault !== null) throw new RecordDamage(fault);
  allow(size);
  const packed = scratch.take(length);
  file.readInto(packed, position, length);
  let records: Uint8Array;
  try {
    records = await codec(packed, size, scratch);
  } catch {
    throw new RecordDamage(`its ${compression} data cannot be unpacked`);
  }
  if (records.length !== size) throw new RecordDamage(`unpacked to ${records.length} bytes, expected ${size}`);
  return records;
}
