import type { SignalTable } from "./SignalTable.ts";

/** Walking the parts of a serialised ROS 1 message. Positions are returned; -1 means that the message ends before. */

const text = new TextDecoder();

/** Bytes of a header before its frame_id: sequence number, stamp, length. */
export const headerBytes = 16;

/** Past a std_msgs/Header; takes its frame_id for the table's where that has none yet. */
export function skipHeader(view: DataView, at: number, end: number, table: SignalTable | null): number {
  if (end - at < headerBytes) return -1;
  const length = view.getUint32(at + 12, true);
  if (length > end - at - headerBytes) return -1;
  if (table !== null && length > 0 && table.frameId === "") table.frameId = textAt(view, at + headerBytes, length);
  return at + headerBytes + length;
}

/** Past a string, or an array of elements of `width` bytes. */
export function skipArray(view: DataView, at: number, end: number, width = 1): number {
  if (at < 0 || end - at < 4) return -1;
  const bytes = view.getUint32(at, true) * width;
  return bytes > end - at - 4 ? -1 : at + 4 + bytes;
}

/** Past an array of strings. */
export function skipStrings(view: DataView, at: number, end: number): number {
  if (end - at < 4) return -1;
  const count = view.getUint32(at, true);
  let next = at + 4;
  for (let i = 0; i < count && next >= 0; i++) next = skipArray(view, next, end);
  return next;
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
