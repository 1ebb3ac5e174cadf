import { readdir } from "node:fs/promises";
import { join } from "node:path";
import { LogError } from "../../foundation/errors.ts";

/** Folders within folders: a flight day is rarely deeper, and a home folder must not be searched. */
const deepest = 4;
const mostFiles = 2000;
/** Text files that are no tables are no logs; nor are what this program writes and what a lab keeps beside its logs. */
const notLogs = /\.(ya?ml|json|jsonl|md|html?|pdf|png|jpe?g|py|m|mat|sh|zip|gz|tgz|db3-wal|db3-shm|db3-journal)$/i;

/** Files of a folder and its folders, and folders that are one log (ROS 2 bags), in the order of their names. */
export async function logsIn(folder: string): Promise<{ paths: string[]; others: number }> {
  const paths: string[] = [];
  let others = 0;
  const walk = async (within: string, depth: number): Promise<void> => {
    const entries = await entriesOf(join(folder, within));
    if (entries.some(({ name }) => name === "metadata.yaml") && within !== "") {
      paths.push(within);
      return;
    }
    for (const entry of entries.sort((a, b) => a.name.localeCompare(b.name, "en", { numeric: true }))) {
      if (entry.name.startsWith(".") || entry.name === "node_modules") continue;
      const path = join(within, entry.name);
      if (entry.isDirectory()) {
        if (depth < deepest) await walk(path, depth + 1);
      } else if (!entry.isFile() || notLogs.test(entry.name)) others++;
      else if (paths.length < mostFiles) paths.push(path);
      else others++;
    }
  };
  await walk("", 0);
  return { paths, others };
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
