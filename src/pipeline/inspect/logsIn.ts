import type { Dirent } from "node:fs";
import { readdir, realpath, stat } from "node:fs/promises";
import { basename, join } from "node:path";
import { LogError } from "../../foundation/errors.ts";

/** A flight day is smaller by far, and a home folder must not be searched: entries of folders, and files that could be logs. */
const mostEntries = 50_000;
const mostFiles = 2000;
/** Text files that are no tables are no logs; nor are what this program writes and what a lab keeps beside its logs. */
const notLogs = /\.(ya?ml|json|jsonl|md|html?|pdf|png|jpe?g|py|m|mat|sh|zip|gz|tgz|db3-wal|db3-shm|db3-journal)$/i;

/** What lies in a folder and was not looked into, and why. */
interface Skipped {
  readonly path: string;
  readonly why: string;
}

/**
 * Files of a folder and its folders, and folders that are one log (ROS 2 bags), in the order of their names. A link is what it leads
 * to; folders that a link leads to come last, and none is entered twice, so that a link to a folder above ends.
 *
 * @throws LogError  code `log-unreadable`: the folder cannot be read; one within it is named instead
 */
export async function logsIn(folder: string): Promise<{ paths: string[]; others: number; skipped: Skipped[] }> {
  const paths: string[] = [];
  const skipped: Skipped[] = [];
  const linked: string[] = [];
  const entered = new Map<string, string>();
  let [others, seen] = [0, 0];
  const skip = (path: string, why: string): void => {
    skipped.push({ path, why });
  };
  const take = (path: string): void => {
    if (paths.length < mostFiles) paths.push(path);
    else skip(path, `more than ${mostFiles} files`);
  };
  /** null for one that is read already or cannot be read */
  const enter = async (within: string): Promise<Dirent[] | null> => {
    const path = join(folder, within);
    const real = await realpath(path).catch(() => path);
    const before = entered.get(real);
    if (before !== undefined) {
      skip(within, `a link to a folder that is read already${before === "" ? "" : `: ${before}`}`);
      return null;
    }
    entered.set(real, within);
    try {
      return await entriesOf(path);
    } catch (error) {
      if (within === "" || !(error instanceof LogError)) throw error;
      skip(within, error.message.replace(/^found /, ""));
      return null;
    }
  };
  const walk = async (within: string): Promise<void> => {
    const entries = (await enter(within)) ?? [];
    seen += entries.length;
    if (within !== "" && isBagFolder(entries, within)) return take(within);
    const shown = entries.filter(({ name }) => !name.startsWith(".") && name !== "node_modules");
    for (const entry of shown.sort((a, b) => a.name.localeCompare(b.name, "en", { numeric: true }))) {
      const path = join(within, entry.name);
      const kind = await kindOf(entry, join(folder, path));
      if (kind === "no log") others++;
      else if (kind === "log") take(path);
      else if (kind !== "folder") skip(path, kind.why);
      else if (seen > mostEntries) skip(path, `a folder after more than ${mostEntries} entries`);
      else if (entry.isSymbolicLink()) linked.push(path);
      else await walk(path);
    }
  };
  await walk("");
  // a folder that stands here itself is called by its own name, not by that of a link to it; links may hold more links
  for (const path of linked) await walk(path);
  return { paths, others, skipped };
}

/** Whether a folder is one log: a ROS 2 bag, closed or not. */
function isBagFolder(entries: readonly Dirent[], path: string): boolean {
  const names = entries.map(({ name }) => name);
  return names.includes("metadata.yaml") || isUnclosedBag(names, basename(path));
}

/** What an entry of a folder is; with `why`: what is not looked into. */
async function kindOf(entry: Dirent, path: string): Promise<"folder" | "log" | "no log" | { readonly why: string }> {
  const kind = entry.isSymbolicLink() ? await stat(path).catch(() => null) : entry;
  if (kind === null) return { why: "a link that leads nowhere" };
  if (kind.isDirectory()) return "folder";
  if (!kind.isFile()) return { why: "a device or a pipe" };
  return notLogs.test(entry.name) ? "no log" : "log";
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

async function entriesOf(folder: string): Promise<Dirent[]> {
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
