import type { Dirent } from "node:fs";
import { readdir, stat } from "node:fs/promises";
import { basename, join, resolve } from "node:path";
import type { FolderInspection } from "../contract/inspection.ts";
import { CounterpoiseError, LogError } from "../foundation/errors.ts";
import { filesOfLog } from "../readers/LogReader.ts";
import { folderDraft } from "./inspect/folderDraft.ts";
import { type FoundLog, foundLog, unreadLog } from "./inspect/foundLog.ts";
import { withCopies } from "./inspect/pairLogs.ts";
import { runsTableIn } from "./inspect/runsTable.ts";
import { lookAtLog } from "./inspectLog.ts";
import { sha256Of } from "./sha256Of.ts";

/** Folders within folders: a flight day is rarely deeper, and a home folder must not be searched. */
const deepest = 4;
const mostFiles = 2000;
/** Text files that are no tables are no logs; nor are what this program writes and what a lab keeps beside its logs. */
const notLogs = /\.(ya?ml|json|jsonl|md|html?|pdf|png|jpe?g|py|m|mat|sh|zip|gz|tgz|db3-wal|db3-shm|db3-journal)$/i;

/** What lies in a folder and was not looked into, and why. */
interface Skipped {
  readonly path: string;
  readonly why: string;
}

/**
 * Files of a folder and its folders, and folders that are one log (ROS 2 bags), in the order of their names. A link to a file is
 * that file; a link to a folder is not entered, for it may lead anywhere.
 */
export async function logsIn(folder: string): Promise<{ paths: string[]; others: number; skipped: Skipped[] }> {
  const paths: string[] = [];
  const skipped: Skipped[] = [];
  let others = 0;
  const walk = async (within: string, depth: number): Promise<void> => {
    const entries = await entriesOf(join(folder, within));
    const names = entries.map(({ name }) => name);
    if (within !== "" && (names.includes("metadata.yaml") || isUnclosedBag(names, basename(within)))) {
      paths.push(within);
      return;
    }
    for (const entry of entries.sort((a, b) => a.name.localeCompare(b.name, "en", { numeric: true }))) {
      if (entry.name.startsWith(".") || entry.name === "node_modules") continue;
      const path = join(within, entry.name);
      const kind = await kindOf(entry, join(folder, path), depth);
      if (kind === "folder") await walk(path, depth + 1);
      else if (kind === "no log") others++;
      else if (kind !== "log") skipped.push({ path, why: kind.why });
      else if (paths.length < mostFiles) paths.push(path);
      else skipped.push({ path, why: `more than ${mostFiles} files` });
    }
  };
  await walk("", 0);
  return { paths, others, skipped };
}

/** What an entry of a folder is; with `why`: what is not looked into. */
async function kindOf(
  entry: Dirent,
  path: string,
  depth: number,
): Promise<"folder" | "log" | "no log" | { readonly why: string }> {
  const kind = entry.isSymbolicLink() ? await stat(path).catch(() => null) : entry;
  if (kind === null) return { why: "a link that leads nowhere" };
  if (!kind.isDirectory() && !kind.isFile()) return { why: "a device or a pipe" };
  if (!kind.isDirectory()) return notLogs.test(entry.name) ? "no log" : "log";
  if (kind !== entry) return { why: "a link to a folder" };
  return depth < deepest ? "folder" : { why: `a folder more than ${deepest} deep` };
}

/**
 * Whether a folder is a bag whose recorder was killed before it wrote `metadata.yaml`: nothing but parts named as rosbag2 names
 * them, after the folder and numbered, or a single first one. Bags that were taken out of their folders have names of their own.
 *
 * @source rosbag2_storage and rosbag2_cpp, SequentialWriter: "<folder>_<n>.db3"
 */
function isUnclosedBag(names: readonly string[], folder: string): boolean {
  const logs = names.filter((name) => !name.startsWith(".") && !notLogs.test(name));
  const parts = logs.map((name) => /^(.*)_(\d+)\.(?:db3|mcap)(?:\.zstd)?$/.exec(name));
  if (parts.length === 0 || parts.includes(null)) return false;
  return parts.every((part) => part![1] === folder) || (parts.length === 1 && Number(parts[0]![2]) === 0);
}

async function entriesOf(folder: string) {
  try {
    return await readdir(folder, { withFileTypes: true });
  } catch (cause) {
    throw new LogError(
      "log-unreadable",
      `found a folder that cannot be read (${(cause as NodeJS.ErrnoException).code})`,
      {
        place: folder,
        hint: "check the path and that you may read it",
        cause,
      },
    );
  }
}

/** What the journey needs from outside. Tests pass their own. */
export interface FolderEffects {
  readonly lookAtLog: (path: string, likely: readonly number[]) => ReturnType<typeof lookAtLog>;
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
 * @param options.prefix         from the manifest to the folder; "" where it is to lie in it
 * @param options.definitions    folders of .msg files, for logs that hold no definitions of their types
 * @param options.toDefinitions  the same as the manifest names them
 * @throws LogError  code `log-unreadable`: the folder cannot be read, or holds no log
 */
export async function inspectFolder(
  folder: string,
  options: {
    onProgress?: (progress: FolderProgress) => void;
    effects?: FolderEffects;
    prefix?: string;
    definitions?: readonly string[];
    toDefinitions?: readonly string[];
  } = {},
): Promise<FolderInspection> {
  const effects = options.effects ?? {
    lookAtLog: (path, likely) => lookAtLog(path, undefined, options.definitions, likely),
    sha256: sumOfLog,
  };
  const { paths, others, skipped } = await logsIn(folder);
  const table = await runsTableIn(folder, paths);
  const found: FoundLog[] = [];
  let strangers = others;
  for (const [done, path] of paths.entries()) {
    options.onProgress?.({ done, total: paths.length, path });
    const one = path === table?.path ? null : await inspectOne(folder, path, effects, periodsOf(found));
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
  const logs = await withCopies(folder, found, effects.sha256);
  return {
    schema: 1,
    folder,
    logs: logs.map(({ log }) => log),
    others: strangers,
    skipped,
    ...folderDraft(
      logs,
      {
        title: basename(resolve(folder)),
        prefix: options.prefix ?? "",
        definitions: options.toDefinitions ?? [],
      },
      table,
    ),
  };
}

/** How many of a day's trajectories are tried before a period is searched for. */
const mostLikely = 6;

/** Periods that were commanded in logs so far, the latest first, each once: most flights of a day are of few trajectories. */
function periodsOf(found: readonly FoundLog[]): readonly number[] {
  const periods: number[] = [];
  for (let k = found.length - 1; k >= 0 && periods.length < mostLikely; k--)
    for (const { shape } of found[k]!.flights) {
      const period = shape !== null && "period" in shape ? shape.period : null;
      if (period !== null && !periods.some((known) => Math.abs(known / period - 1) < 0.02)) periods.push(period);
    }
  return periods;
}

/** null for a text that is no table: a note, a licence. */
async function inspectOne(
  folder: string,
  path: string,
  effects: FolderEffects,
  likely: readonly number[],
): Promise<FoundLog | null> {
  try {
    const { inspection, sights } = await effects.lookAtLog(join(folder, path), likely);
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
