import { stat } from "node:fs/promises";
import { filesOfLog } from "../readers/LogReader.ts";

/** What tells that a file is no longer the same, without reading it; "" where there is none. */
export type FileStamp = (path: string) => Promise<string>;

/** Times of change, size and inode of a file on the disk; of a folder also those of the files in it. */
export const fileStamp: FileStamp = async (path) => {
  try {
    const found = await stat(path);
    const { mtimeMs, ctimeMs, size, ino } = found;
    const own = `${mtimeMs} ${ctimeMs} ${size} ${ino}`;
    if (!found.isDirectory()) return own;
    const within = await stampsOf(await filesOfLog(path), fileStamp);
    return [own, ...[...within].map(([file, stamp]) => `${file} ${stamp}`)].join("; ");
  } catch {
    return "";
  }
};

/** A disk's clock is no finer than this, milliseconds: a file that changed so lately can change again under the same stamp. */
const blur = 2000;

/** Whether a file's stamp, read at an instant (milliseconds since 1970), stands for its content: any later change gives another. */
export function isSettled(stamp: string, at: number): boolean {
  const [modified = Number.NaN, changed = Number.NaN] = stamp.split(" ").map(Number);
  return Math.max(modified, changed) < at - blur;
}

/** Stamps of several files by path. */
export async function stampsOf(paths: Iterable<string>, stamp: FileStamp): Promise<ReadonlyMap<string, string>> {
  return new Map(await Promise.all([...new Set(paths)].map(async (path) => [path, await stamp(path)] as const)));
}

/** Paths whose stamps differ; a path that only one of both knows is no difference. */
export function differing(a: ReadonlyMap<string, string>, b: ReadonlyMap<string, string>): string[] {
  return [...a].flatMap(([path, stamp]) => (b.has(path) && b.get(path) !== stamp ? [path] : []));
}
