import { readdir } from "node:fs/promises";
import { join } from "node:path";

/**
 * The files that a log is made of: the path itself, or where it is a folder the files in it, in the order of their names.
 * Hidden files and folders within are left out.
 */
export async function filesOfLog(path: string): Promise<readonly string[]> {
  try {
    const entries = await readdir(path, { withFileTypes: true });
    const files = entries.filter((entry) => entry.isFile() && !entry.name.startsWith("."));
    return files.map(({ name }) => join(path, name)).sort();
  } catch {
    // no folder, or none that may be read: whoever opens it says what is wrong
    return [path];
  }
}
