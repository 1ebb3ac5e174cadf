import type { Nanoseconds } from "../../foundation/units.ts";
import type { LogFile } from "../messages/LogFile.ts";
import { headBytes, opcode, readHead } from "./records.ts";

const entryBytes = 16;

/** Messages of a channel in a chunk, from the head of the index record there; null where there is none. */
export function indexedCount(file: LogFile, position: number, channel: number): number | null {
  const bytes = file.slice(position, headBytes + 6);
  const head = readHead(bytes);
  if (head?.op !== opcode.messageIndex || bytes.length < headBytes + 6) return null;
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
  const length = view.getUint32(headBytes + 2, true);
  if (view.getUint16(headBytes, true) !== channel || length + 6 > head.length || length % entryBytes !== 0) return null;
  return length / entryBytes;
}

/** First and last log time of a channel in a chunk, from the index record there; null where there is none. */
export function indexedRange(
  file: LogFile,
  position: number,
  channel: number,
): { start: Nanoseconds; end: Nanoseconds } | null {
  const count = indexedCount(file, position, channel);
  if (count === null || count === 0) return null;
  const bytes = file.slice(position + headBytes + 6, count * entryBytes);
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
  let start: Nanoseconds | null = null;
  let end: Nanoseconds | null = null;
  for (let at = 0; at + entryBytes <= bytes.length; at += entryBytes) {
    const time = view.getBigUint64(at, true);
    if (start === null || time < start) start = time;
    if (end === null || time > end) end = time;
  }
  return start === null || end === null ? null : { start, end };
}
