import type { Share } from "./mcapLayout.ts";
import type { Pass } from "./Pass.ts";
import { headBytes, opcode } from "./records.ts";

/** Of an index record: head, channel and length of its entries; and each entry, a time and a place. */
const indexHeadBytes = headBytes + 2 + 4;
const entryBytes = 16;

/**
 * What the index records behind a chunk say of it, by channel. They hold the time of every message, while the summary's
 * index of the chunk holds no more than the first and the last: one entry costs 16 bytes to read, a message all of its own.
 *
 * @param position  behind the chunk
 * @param length    of all its index records, bytes; not checked to be there
 * @returns null where these are no such records
 */
export function indexedShares(pass: Pass, position: number, length: number): Map<number, Share> | null {
  const bytes = pass.take(length);
  if (pass.file.readInto(bytes, position, length) < length) return null;
  const view = new DataView(bytes.buffer, bytes.byteOffset, length);
  const shares = new Map<number, Share>();
  for (let at = 0; at < length; ) {
    const entriesAt = at + indexHeadBytes;
    if (entriesAt > length || view.getUint8(at) !== opcode.messageIndex) return null;
    const channel = view.getUint16(at + headBytes, true);
    const entries = view.getUint32(at + headBytes + 2, true);
    const end = at + headBytes + view.getUint32(at + 1, true);
    // the record's length has eight bytes, of which none but the lower four can be needed
    if (view.getUint32(at + 5, true) !== 0 || end > length || entriesAt + entries !== end) return null;
    if (entries % entryBytes !== 0 || shares.has(channel)) return null;
    if (entries > 0) shares.set(channel, shareOf(view, entriesAt, end));
    at = end;
  }
  return shares;
}

/** This loop runs once for each message of the log: times are compared by their two words. */
function shareOf(view: DataView, from: number, end: number): Share {
  let [firstHigh, firstLow, lastHigh, lastLow] = [0xffff_ffff, 0xffff_ffff, 0, 0];
  for (let at = from; at < end; at += entryBytes) {
    const low = view.getUint32(at, true);
    const high = view.getUint32(at + 4, true);
    if (high < firstHigh || (high === firstHigh && low < firstLow)) {
      firstHigh = high;
      firstLow = low;
    }
    if (high > lastHigh || (high === lastHigh && low > lastLow)) {
      lastHigh = high;
      lastLow = low;
    }
  }
  return {
    count: (end - from) / entryBytes,
    start: (BigInt(firstHigh) << 32n) | BigInt(firstLow),
    end: (BigInt(lastHigh) << 32n) | BigInt(lastLow),
  };
}
