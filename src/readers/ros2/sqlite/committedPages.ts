import type { LogFile } from "../../messages/LogFile.ts";

const headerLength = 32;
const frameHeader = 24;

/**
 * Pages that a write-ahead log holds in place of the database's own, up to its last commit. Frames of an earlier round
 * (another salt), after the last commit, or with a wrong checksum do not count.
 *
 * @returns page -> byte of its content in the log; a note where frames were left out that belong to no commit
 * @source SQLite, Database File Format, section 4 (write-ahead log), with the checksum of section 4.2
 */
export function committedPages(log: LogFile, pageSize: number): { pages: Map<number, number>; note: string | null } {
  const pages = new Map<number, number>();
  const header = log.slice(0, headerLength);
  if (header.length < headerLength) return { pages, note: null };
  const head = new DataView(header.buffer, header.byteOffset, header.length);
  const magic = head.getUint32(0);
  if ((magic & ~1) >>> 0 !== 0x377f0682 || head.getUint32(8) !== pageSize)
    return { pages, note: "a write-ahead log lies beside it that does not belong to it: it was left out" };
  // the magic's last bit tells the byte order of the checksum's words
  const little = (magic & 1) === 0;
  let sums = checksum(head, 0, 24, [0, 0], little);
  if (sums[0] !== head.getUint32(24) || sums[1] !== head.getUint32(28)) return { pages, note: null };
  const round = new Map<number, number>();
  let frames = 0;
  let committed = 0;
  for (let at = headerLength; at + frameHeader + pageSize <= log.bytes; at += frameHeader + pageSize) {
    const bytes = log.slice(at, frameHeader + pageSize);
    const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
    if (view.getUint32(8) !== head.getUint32(16) || view.getUint32(12) !== head.getUint32(20)) break;
    sums = checksum(view, 0, 8, sums, little);
    sums = checksum(view, frameHeader, pageSize, sums, little);
    if (sums[0] !== view.getUint32(16) || sums[1] !== view.getUint32(20)) break;
    frames++;
    round.set(view.getUint32(0), at + frameHeader);
    if (view.getUint32(4) === 0) continue;
    // the last frame of a transaction says how many pages the database has then
    for (const [page, place] of round) pages.set(page, place);
    round.clear();
    committed = frames;
  }
  const left = frames - committed;
  return { pages, note: left === 0 ? null : `the last ${left} page(s) of its write-ahead log were never committed` };
}

function checksum(
  view: DataView,
  from: number,
  length: number,
  [a, b]: readonly [number, number],
  little: boolean,
): readonly [number, number] {
  let first = a;
  let second = b;
  for (let at = from; at < from + length; at += 8) {
    first = (first + view.getUint32(at, little) + second) >>> 0;
    second = (second + view.getUint32(at + 4, little) + first) >>> 0;
  }
  return [first, second];
}
