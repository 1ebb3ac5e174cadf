import { join } from "node:path";
import type { FolderLog } from "../../contract/inspection.ts";
import type { FoundLog } from "./foundLog.ts";

/**
 * Logs with what they are copies of, for a flight that lies in a folder twice is no second flight: of the same bytes; of the same
 * messages in another compression or container; or the unfinished recording of a log that was finished since.
 *
 * The original is of the format that most logs of the folder have, and has the shorter name: a copy has something added.
 *
 * @param sha256  of a log's bytes, whatever it is called
 */
export async function withCopies(
  folder: string,
  found: readonly FoundLog[],
  sha256: (path: string) => Promise<string>,
): Promise<FoundLog[]> {
  const formats = new Map<string | null, number>();
  for (const { log } of found) formats.set(log.format, (formats.get(log.format) ?? 0) + 1);
  const ordered = found
    .filter(({ log }) => log.error === null)
    .sort(({ log: a }, { log: b }) => formats.get(b.format)! - formats.get(a.format)! || a.path.length - b.path.length);
  const copies = new Map<string, Pick<FolderLog, "same_as" | "same_by">>();
  const note = (by: "bytes" | "messages", groups: Iterable<readonly FoundLog[]>): void => {
    for (const [first, ...rest] of groups)
      for (const { log } of rest)
        if (!copies.has(log.path)) copies.set(log.path, { same_as: first!.log.path, same_by: by });
  };
  note("bytes", await ofEqualBytes(folder, ordered, sha256));
  note("messages", groupsBy(ordered, ({ content }) => content).values());
  for (const { log } of ordered) {
    const finished = finishedName(log.path);
    if (finished !== null && !copies.has(log.path) && found.some((one) => one.log.path === finished))
      copies.set(log.path, { same_as: finished, same_by: "unfinished" });
  }
  return found.map((one) => ({ ...one, log: { ...one.log, ...(copies.get(one.log.path) ?? { same_as: null }) } }));
}

/** Only logs of equal length and count are summed; what cannot be read counts as its own. */
async function ofEqualBytes(
  folder: string,
  logs: readonly FoundLog[],
  sha256: (path: string) => Promise<string>,
): Promise<FoundLog[][]> {
  const alike = groupsBy(logs, ({ log }) => `${log.format} ${log.bytes} ${log.messages}`);
  const groups: FoundLog[][] = [];
  for (const same of [...alike.values()].filter(({ length }) => length > 1)) {
    const sums = new Map<FoundLog, string>();
    for (const one of same) sums.set(one, await sha256(join(folder, one.log.path)).catch(() => one.log.path));
    groups.push(...groupsBy(same, (one) => sums.get(one)!).values());
  }
  return groups;
}

function groupsBy(logs: readonly FoundLog[], keyOf: (one: FoundLog) => string | null): Map<string, FoundLog[]> {
  const groups = new Map<string, FoundLog[]>();
  for (const one of logs) {
    const key = keyOf(one);
    if (key !== null) groups.set(key, [...(groups.get(key) ?? []), one]);
  }
  return groups;
}

/**
 * What a recording is called once it is finished: rosbag writes `x.bag.active` until it is closed, and its repair leaves the damaged
 * one as `x.orig.bag`. Null for a log that is called like a finished one.
 */
function finishedName(path: string): string | null {
  const found = /^(.*)(?:\.bag\.active|\.orig\.bag|\.bag\.orig\.active)$/.exec(path);
  return found === null ? null : `${found[1]}.bag`;
}
