import { writeFile } from "node:fs/promises";
import { dirname, relative, resolve } from "node:path";
import { CounterpoiseError } from "../foundation/errors.ts";

/** The way from a manifest to the folder of its logs, as a manifest writes paths; "" where it lies in it. */
export function wayTo(logFolder: string, manifest: string): string {
  return relative(resolve(dirname(manifest)), resolve(logFolder)).replaceAll("\\", "/");
}

/**
 * Writes the draft of a manifest to a new file.
 *
 * @throws CounterpoiseError  code `not-written`: the disk refused, or the file is there already
 */
export async function writeDraft(path: string, manifest: string): Promise<void> {
  try {
    await writeFile(path, manifest, { flag: "wx" });
  } catch (cause) {
    throw new CounterpoiseError("not-written", `the draft cannot be written: ${(cause as Error).message}`, {
      place: path,
      hint: "choose another name or folder for --draft",
      cause,
    });
  }
}
