import { basename, join, resolve } from "node:path";
import type { FolderInspection, FolderLog } from "../contract/inspection.ts";
import { CounterpoiseError, LogError } from "../foundation/errors.ts";
import { filesOfLog } from "../readers/filesOfLog.ts";
import { folderDraft } from "./inspect/folderDraft.ts";
import { type FoundLog, foundLog, unreadLog } from "./inspect/foundLog.ts";
import { logsIn } from "./inspect/logsIn.ts";
import { lookAtLog } from "./inspectLog.ts";
import { sha256Of } from "./sha256Of.ts";

/** What the journey needs from outside. Tests pass their own. */
export interface FolderEffects {
  readonly lookAtLog: (path: string) => ReturnType<typeof lookAtLog>;
  readonly sha256: (path: string) => Promise<string>;
}

export interface FolderProgress {
  readonly done: number;
  readonly total: number;
  readonly path: string;
}

/**
 * What is in a folder of logs: each with duration, rates and what it could be; copies; and a manifest to start from.
 *
 * A log that cannot be read is listed with the reason and stops no other.
 *
 * @param options.prefix  from the manifest to the folder; "" where it is to lie in it
 * @throws LogError  code `log-unreadable`: the folder cannot be read, or holds no log
 */
export async function inspectFolder(
  folder: string,
  options: { onProgress?: (progress: FolderProgress) => void; effects?: FolderEffects; prefix?: string } = {},
): Promise<FolderInspection> {
  const effects = options.effects ?? { lookAtLog: (path) => lookAtLog(path), sha256: sumOfLog };
  const { paths, others, skipped } = await logsIn(folder);
  const found: FoundLog[] = [];
  let strangers = others;
  for (const [done, path] of paths.entries()) {
    options.onProgress?.({ done, total: paths.length, path });
    const one = await inspectOne(folder, path, effects);
    if (one === null) strangers++;
    else found.push(one);
  }
  if (found.length === 0)
    throw new LogError(
      "log-unreadable",
      `found no log among ${strangers} file(s)${skipped.length === 0 ? "" : ` and ${skipped.length} that were not looked into (${skipped[0]!.path}: ${skipped[0]!.why})`}, expected some`,
      {
        place: folder,
        hint: "name the folder that holds the flight day's logs",
      },
    );
  const logs = await withCopies(
    folder,
    found.map(({ log }) => log),
    effects,
  );
  return {
    schema: 1,
    folder,
    logs,
    others: strangers,
    skipped,
    ...folderDraft(
      found.map((one, k) => ({ ...one, log: logs[k]! })),
      { title: basename(resolve(folder)), prefix: options.prefix ?? "" },
    ),
  };
}

/** null for a text that is no table: a note, a licence. */
async function inspectOne(folder: string, path: string, effects: FolderEffects): Promise<FoundLog | null> {
  try {
    const { inspection, sights } = await effects.lookAtLog(join(folder, path));
    return foundLog(path, inspection, sights);
  } catch (error) {
    if (!(error instanceof CounterpoiseError)) throw error;
    if (/^found (text|a file) that starts with/.test(error.message)) return null;
    return unreadLog(path, error.message);
  }
}

/** What is in a log, whatever it is called: the sum of its file, or of the parts of its folder. */
async function sumOfLog(path: string): Promise<string> {
  const files = await filesOfLog(path);
  const parts = files.filter((file) => file === path || /\.(db3(-wal|-journal)?|mcap)(\.zstd)?$/i.test(file));
  return parts.map(sha256Of).join(" ");
}

/** Logs of equal length are compared by their sums: a file copied under another name is no second flight. */
async function withCopies(folder: string, logs: readonly FolderLog[], effects: FolderEffects): Promise<FolderLog[]> {
  const bySize = new Map<string, FolderLog[]>();
  for (const log of logs) {
    const key = `${log.format} ${log.bytes} ${log.messages}`;
    const same = bySize.get(key);
    if (same === undefined) bySize.set(key, [log]);
    else same.push(log);
  }
  const first = new Map<string, string>();
  const copies = new Map<string, string>();
  for (const same of bySize.values()) {
    if (same.length < 2) continue;
    // a copy has something added to its name: the shortest is the original
    for (const { path, error } of same.sort((a, b) => a.path.length - b.path.length)) {
      if (error !== null) continue;
      // what cannot be read counts as its own
      const sum = await effects.sha256(join(folder, path)).catch(() => path);
      const earlier = first.get(sum);
      if (earlier === undefined) first.set(sum, path);
      else copies.set(path, earlier);
    }
  }
  return logs.map((log) => ({ ...log, same_as: copies.get(log.path) ?? null }));
}
