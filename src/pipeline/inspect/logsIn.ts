import { readdir, stat } from "node:fs/promises";
import { basename, join } from "node:path";
import { LogError } from "../../foundation/errors.ts";

/** Folders within folders: a flight day is rarely deeper, and a home folder must not be searched. */
const deepest = 4;
const mostFiles = 2000;
/** Text files that are no tables are no logs; nor are what this program writes and what a lab keeps beside its logs. */
const notLogs = /\.(ya?ml|json|jsonl|md|html?|pdf|png|jpe?g|py|m|mat|sh|zip|gz|tgz|db3-wal|db3-shm|db3-journal)$/i;

/** What lies in a folder and was not looked into, and why. */
export interface Skipped {
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
      const kind = entry.isSymbolicLink() ? await kindOfLink(join(folder, path)) : entry;
      if (kind === null) skipped.push({ path, why: "a link that leads nowhere" });
      else if (kind.isDirectory()) {
        if (kind !== entry) skipped.push({ path, why: "a link to a folder" });
        else if (depth < deepest) await walk(path, depth + 1);
        else skipped.push({ path, why: `a folder more than ${deepest} deep` });
      } else if (!kind.isFile() || notLogs.test(entry.name)) others++;
      else if (paths.length < mostFiles) paths.push(path);
      else skipped.push({ path, why: `more than ${mostFiles} files` });
    }
  };
  await walk("", 0);
  return { paths, others, skipped };
}

async function kindOfLink(path: string) {
  return stat(path).catch(() => null);
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
