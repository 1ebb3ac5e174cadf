import { rename, unlink, writeFile } from "node:fs/promises";
import { CounterpoiseError } from "../foundation/errors.ts";

export interface PlanFile {
  readonly path: string;
  readonly text: string;
}

/** The disk, as far as files of a plan need it. */
export interface PlanDisk {
  readonly write: (path: string, text: string) => Promise<void>;
  readonly rename: (from: string, to: string) => Promise<void>;
  readonly remove: (path: string) => Promise<void>;
}

const planDisk: PlanDisk = { write: (path, text) => writeFile(path, text), rename, remove: unlink };

/**
 * Writes the files of a plan, each whole or not at all, and none before the texts of all are safe on the disk: a disk that is
 * full leaves everything as it was.
 *
 * @throws CounterpoiseError  code `not-written`: the disk refused; the message names what was written before it did
 */
export async function writePlanFiles(files: readonly PlanFile[], disk: PlanDisk = planDisk): Promise<void> {
  const parts = files.map(({ path, text }) => ({ path, text, part: `${path}.${process.pid}.part` }));
  const written: string[] = [];
  let at = files[0]?.path ?? "";
  try {
    for (const { path, text, part } of parts) {
      at = path;
      await disk.write(part, text);
    }
    for (const { path, part } of parts) {
      at = path;
      await disk.rename(part, path);
      written.push(path);
    }
  } catch (cause) {
    const left = parts.filter(({ path }) => !written.includes(path));
    await Promise.all(left.map(({ part }) => disk.remove(part).catch(() => undefined)));
    const rest = written.length === 0 ? "nothing was written" : `only ${written.join(", ")} was written`;
    throw new CounterpoiseError(
      "not-written",
      `the plan cannot be written: ${cause instanceof Error ? cause.message : cause}; ${rest}`,
      { place: at, hint: "choose another place", cause },
    );
  }
}
