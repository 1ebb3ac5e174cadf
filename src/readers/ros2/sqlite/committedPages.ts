import type { LogFile } from "../../messages/LogPart.ts";
import type { StandIns } from "./originalPages.ts";

const headerLength = 32;
const frameHeader = 24;

/**
 * Pages that a write-ahead log holds in place of the database's own, up to its last commit.
 *
 * An empty log and frames of an earlier round (another salt), which a checkpoint leaves behind, are sound and not reported. What was
 * meant to be there and cannot be read is: a header or a frame that is cut short or whose checksum is wrong.
 *
 * @source SQLite, Database File Format, section 4 (write-ahead log), with the checksum of section 4.2
 */
export function committedPages(log: LogFile, pageSize: number): StandIns {
  const without = (note: string | null): StandIns => ({ pages: new Map(), size: null, note });
  const header = log.slice(0, headerLength);
  if (header.length === 0) return without(null);
  const head = new DataView(header.buffer, header.byteOffset, header.length);
  const fault = faultOf(head);
  if (fault !== null) return without(`its write-ahead log cannot be read (${fault}): the transactions in it are lost`);
  if (head.getUint32(8) !== pageSize)
    return without("a write-ahead log lies beside it that does not belong to it: it was left out");
  const little = isLittle(head);
  let sums: readonly [number, number] = [head.getUint32(24), head.getUint32(28)];
  const pages = new Map<number, number>();
  const round = new Map<number, number>();
  const frameLength = frameHeader + pageSize;
  let size: number | null = null;
  let frames = 0;
  let committed = 0;
  for (; headerLength + (frames + 1) * frameLength <= log.bytes; frames++) {
    const at = headerLength + frames * frameLength;
    const bytes = log.slice(at, frameLength);
    const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
    if (view.getUint32(8) !== head.getUint32(16) || view.getUint32(12) !== head.getUint32(20)) break;
    sums = checksum(view, 0, 8, sums, little);
    sums = checksum(view, frameHeader, pageSize, sums, little);
    if (sums[0] !== view.getUint32(16) || sums[1] !== view.getUint32(20)) break;
    round.set(view.getUint32(0), at + frameHeader);
    // the last frame of a transaction says how many pages the database has then
    if (view.getUint32(4) === 0) continue;
    for (const [page, place] of round) pages.set(page, place);
    round.clear();
    size = view.getUint32(4);
    committed = frames + 1;
  }
  return { pages, size, note: toldOf(framesBehind(log, head, frames, frameLength), frames, committed) };
}

/** What is wrong with a log's header; null for a sound one. */
function faultOf(head: DataView): string | null {
  if (head.byteLength < headerLength) return `it has ${head.byteLength} of the ${headerLength} bytes of its header`;
  const magic = head.getUint32(0);
  if ((magic & ~1) >>> 0 !== 0x377f0682)
    return `it begins with 0x${magic.toString(16)}, expected 0x377f0682 or 0x377f0683`;
  const sums = checksum(head, 0, 24, [0, 0], isLittle(head));
  return sums[0] === head.getUint32(24) && sums[1] === head.getUint32(28)
    ? null
    : "the checksum of its header is wrong";
}

/** The magic's last bit tells the byte order of the checksum's words. */
function isLittle(head: DataView): boolean {
  return (head.getUint32(0) & 1) === 0;
}

/**
 * Frames of this round from the first on that cannot be read, and how many of them end a transaction. An old frame differs in both
 * words of the salt, so that one with either was meant to be there.
 */
function framesBehind(
  log: LogFile,
  head: DataView,
  from: number,
  frameLength: number,
): { meant: number; commits: number } {
  const first = headerLength + from * frameLength;
  let meant = 0;
  let commits = 0;
  for (let at = first; at < log.bytes; at += frameLength) {
    const bytes = log.slice(at, frameHeader);
    const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
    // where the log ends before the salt, the frame before tells which round it is
    const isMeant =
      view.byteLength < 16
        ? at === first
        : view.getUint32(8) === head.getUint32(16) || view.getUint32(12) === head.getUint32(20);
    if (!isMeant) continue;
    meant++;
    if (view.byteLength >= 8 && view.getUint32(4) !== 0) commits++;
  }
  return { meant, commits };
}

function toldOf(behind: { meant: number; commits: number }, frames: number, committed: number): string | null {
  if (behind.commits > 0)
    return `its write-ahead log is damaged or cut short at frame ${frames + 1}: ${behind.commits} committed transaction(s) from there on are lost`;
  const left = frames - committed + behind.meant;
  return left === 0 ? null : `the last ${left} page(s) of its write-ahead log have no commit: left out`;
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
