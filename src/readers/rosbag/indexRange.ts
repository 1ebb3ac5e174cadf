import type { Nanoseconds } from "../../foundation/units.ts";
import type { LogFile } from "../messages/LogFile.ts";
import { type BagChunk, instant } from "./bagLayout.ts";
import { readChunkHeader } from "./readChunk.ts";
import { opcode, readRecordHeader, uint32Field } from "./recordHeader.ts";

/** An entry of an index record: receipt time (seconds, nanoseconds) and place in the chunk. */
const entryBytes = 12;

/**
 * First and last receipt time of some connections in one chunk, from the index records behind it, or from the scan
 * where there was one. Where the index records are damaged: the chunk's own times.
 */
export function readIndexRange(
  file: LogFile,
  chunk: BagChunk,
  ids: ReadonlySet<number>,
): { start: Nanoseconds; end: Nanoseconds } {
  let start: Nanoseconds | null = null;
  let end: Nanoseconds | null = null;
  const take = (time: Nanoseconds): void => {
    if (start === null || time < start) start = time;
    if (end === null || time > end) end = time;
  };
  for (const id of ids) {
    const share = chunk.shares.get(id);
    if (share?.start != null && share.end !== null) {
      take(share.start);
      take(share.end);
    }
  }
  if (start === null) for (const time of indexTimes(file, chunk, ids)) take(time);
  return { start: start ?? chunk.start, end: end ?? chunk.end };
}

function* indexTimes(file: LogFile, chunk: BagChunk, ids: ReadonlySet<number>): Generator<Nanoseconds> {
  const header = readChunkHeader(file, chunk.position);
  if (header === null) return;
  let position = header.dataPosition + header.dataLength;
  while (position < chunk.limit) {
    const record = readRecordHeader(file.slice(position, 256));
    if (record?.op !== opcode.index) return;
    const data = position + record.dataOffset;
    position = data + record.dataLength;
    const id = uint32Field(record.fields, "conn");
    if (id === null || !ids.has(id) || position > chunk.limit) continue;
    const bytes = file.slice(data, record.dataLength);
    const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
    for (let at = 0; at + entryBytes <= bytes.length; at += entryBytes)
      yield instant(view.getUint32(at, true), view.getUint32(at + 4, true));
  }
}
