import { closeSync, openSync, readSync, realpathSync, statSync } from "node:fs";
import { dirname, join } from "node:path";
import { ArgumentError } from "../foundation/errors.ts";
import { isFolder } from "./manifestPath.ts";

/**
 * Where the evaluation goes: `wanted`, or `evaluation.json` beside the manifest. Looked at before the work starts.
 *
 * @throws ArgumentError  a folder, a file in no folder, the manifest itself, or a file that holds something else than JSON:
 *   a slip of the hand must not cost a log
 */
export function outputPath(manifest: string, wanted: string | null): string {
  const path = wanted ?? join(dirname(manifest), "evaluation.json");
  if (isFolder(path))
    throw refusal(path, "found a folder, expected the name of a file", `--out ${join(path, "evaluation.json")}`);
  const folder = dirname(path);
  // no folder of the manifest: then there is no manifest either, and that is what is told
  if (wanted === null && !isFolder(folder)) return path;
  if (!isFolder(folder))
    throw refusal(path, `found no folder ${folder}, expected one to write to`, "make the folder first");
  if (statSync(path, { throwIfNoEntry: false }) === undefined) return path;
  if (sameFile(path, manifest))
    throw refusal(path, "found the manifest, expected another file to write to", "choose another name");
  if (!startsLikeJson(path))
    throw refusal(
      path,
      "found a file that is no evaluation, expected one that may be replaced",
      "choose another name, or move the file away",
    );
  return path;
}

function refusal(path: string, message: string, hint: string): ArgumentError {
  return new ArgumentError("output-refused", message, { place: path, hint });
}

function sameFile(a: string, b: string): boolean {
  try {
    return realpathSync(a) === realpathSync(b);
  } catch {
    return false;
  }
}

function startsLikeJson(path: string): boolean {
  const start = Buffer.alloc(16);
  let file: number | null = null;
  try {
    file = openSync(path, "r");
    const length = readSync(file, start, 0, start.length, 0);
    return length === 0 || /^\s*\{\s*"/.test(start.toString("utf8", 0, length));
  } catch {
    // what cannot be read can perhaps be written: the disk has the last word
    return true;
  } finally {
    if (file !== null) closeSync(file);
  }
}
