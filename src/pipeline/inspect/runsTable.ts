import { readFile } from "node:fs/promises";
import { dirname, join } from "node:path";
import { readCsvTree } from "../../contract/manifest/csvTree.ts";
import { ProblemList } from "../../contract/manifest/problems.ts";
import { runShape } from "../../contract/manifest/runSchema.ts";
import { isList, isMapping, type TextTree } from "../../contract/manifest/textTree.ts";
import { CounterpoiseError } from "../../foundation/errors.ts";

/** How a table beside the logs files one run. */
export interface FiledRow {
  /** from the folder on */
  readonly logs: readonly string[];
  readonly trajectory: string;
  /** null: the table does not say */
  readonly configuration: string | null;
}

/** A table of runs as `runs: runs.csv` of a manifest reads it. */
export interface RunsTable {
  /** from the folder on */
  readonly path: string;
  readonly rows: readonly FiledRow[];
}

/** More bytes than this are a log. */
const largest = 1_000_000;

/**
 * The table of runs that lies among logs; null where none does, or none that a manifest could read as it is. A table has it where it
 * names logs and trajectories in columns that are called so.
 *
 * @param paths  of the folder's files, from the folder on
 */
export async function runsTableIn(folder: string, paths: readonly string[]): Promise<RunsTable | null> {
  for (const path of paths) {
    if (!/\.csv$/i.test(path)) continue;
    const bytes = await readFile(join(folder, path)).catch(() => null);
    if (bytes === null || bytes.length > largest) continue;
    const text = bytes.toString("utf8");
    const columns = text
      .split(/\r?\n/, 1)[0]!
      .replace(/^\ufeff/, "")
      .split(",")
      .map((name) => name.trim().replace(/^"|"$/g, ""));
    if (!columns.includes("trajectory") || !columns.some((name) => name === "log" || name.startsWith("logs.")))
      continue;
    const rows = rowsIn(text, path);
    if (rows !== null && rows.length > 0) return { path, rows };
  }
  return null;
}

function rowsIn(text: string, path: string): FiledRow[] | null {
  const problems = new ProblemList();
  try {
    const { root } = readCsvTree(text, { file: path, columns: Object.keys(runShape), problems });
    if (problems.count > 0 || !isList(root)) return null;
    const within = dirname(path);
    const inFolder = (log: string): string => (within === "." ? log : `${within}/${log}`);
    return root.flatMap((row): FiledRow[] => {
      if (!isMapping(row) || typeof row.trajectory !== "string") return [];
      const logs = [row.log, ...(isMapping(row.logs) ? Object.values(row.logs) : [])].flatMap(textsOf).map(inFolder);
      return [{ logs, trajectory: row.trajectory, configuration: textsOf(row.configuration)[0] ?? null }];
    });
  } catch (error) {
    if (!(error instanceof CounterpoiseError)) throw error;
    return null;
  }
}

function textsOf(found: TextTree | undefined): string[] {
  if (typeof found === "string") return [found];
  return isList(found) ? found.flatMap(textsOf) : [];
}
