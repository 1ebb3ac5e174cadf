import { join } from "node:path";
import type { FolderInspection, FolderLog, LogInspection } from "../contract/inspection.ts";
import { CounterpoiseError, LogError } from "../foundation/errors.ts";
import { filesOfLog } from "../readers/filesOfLog.ts";
import { draftSignals } from "../report/draft/draftSignals.ts";
import type { SignalDraft } from "../report/draft/SignalDraft.ts";
import { folderDraft } from "./inspect/folderDraft.ts";
import { isStill } from "./inspect/isStill.ts";
import type { FoundLog } from "./inspect/logKinds.ts";
import { logsIn } from "./inspect/logsIn.ts";
import { inspectLog, unknownTopics } from "./inspectLog.ts";
import { sha256Of } from "./sha256Of.ts";

/** What the journey needs from outside. Tests pass their own. */
export interface FolderEffects {
  readonly inspectLog: (path: string) => Promise<LogInspection>;
  readonly sha256: (path: string) => Promise<string>;
  readonly isStill: typeof isStill;
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
 * @throws LogError  code `log-unreadable`: the folder cannot be read, or holds no log
 */
export async function inspectFolder(
  folder: string,
  options: { onProgress?: (progress: FolderProgress) => void; effects?: FolderEffects } = {},
): Promise<FolderInspection> {
  const effects = options.effects ?? {
    inspectLog: (path) => inspectLog(path),
    sha256: sumOfLog,
    isStill,
  };
  const { paths, others } = await logsIn(folder);
  const found: FoundLog[] = [];
  let strangers = others;
  for (const [done, path] of paths.entries()) {
    options.onProgress?.({ done, total: paths.length, path });
    const one = await inspectOne(folder, path, effects);
    if (one === null) strangers++;
    else found.push(one);
  }
  if (found.length === 0)
    throw new LogError("log-unreadable", `found no log among ${strangers} file(s), expected some`, {
      place: folder,
      hint: "name the folder that holds the flight day's logs",
    });
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
    manifest: folderDraft(found.map((one, k) => ({ ...one, log: logs[k]! }))),
  };
}

/** null for a text that is no table: a note, a licence. */
async function inspectOne(folder: string, path: string, effects: FolderEffects) {
  try {
    const inspection = await effects.inspectLog(join(folder, path));
    const { format, bytes, start, duration, messages, recovered, dropouts } = inspection;
    const signals = draftSignals(inspection);
    return {
      log: {
        path,
        bytes,
        format,
        error: null,
        start,
        duration,
        messages,
        recovered,
        dropouts,
        signals: signals.map((draft) => ({
          signal: draft.signal,
          origin: originOfDraft(draft),
          rate: rateOf(draft, inspection),
        })),
        same_as: null,
      },
      signals,
      unknown: unknownTopics(inspection.topics),
      still: await effects.isStill(inspection, join(folder, path)),
    };
  } catch (error) {
    if (!(error instanceof CounterpoiseError)) throw error;
    if (/^found (text|a file) that starts with/.test(error.message)) return null;
    const log: FolderLog = {
      path,
      bytes: 0,
      format: null,
      error: error.message,
      start: null,
      duration: null,
      messages: 0,
      recovered: null,
      dropouts: null,
      signals: [],
      same_as: null,
    };
    return { log, signals: [], unknown: [] };
  }
}

function originOfDraft({ parts }: SignalDraft): string {
  return parts[0] ?? "";
}

/** Messages a second: of its topic, of its table's time, of the frames. */
function rateOf({ parts, clock }: SignalDraft, { topics, points }: LogInspection): number | null {
  if (points !== null) return points.rate;
  const own = topics.find(
    ({ topic }) => parts[0] === `topic: ${topic}` || parts[0] === `topic: "${topic}"` || topic === clock,
  );
  const interval = own?.timing?.median_interval ?? null;
  return interval === null ? null : 1 / interval;
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
