import { createHash } from "node:crypto";
import { basename, dirname, isAbsolute, join, relative } from "node:path";
import { CounterpoiseError, ManifestError } from "../foundation/errors.ts";
import type { Effects } from "./effects.ts";

/** The text of a manifest or of what lies beside it. @throws ManifestError  code `manifest-unreadable` */
export async function readWhole(path: string, effects: Pick<Effects, "readText">): Promise<string> {
  try {
    return await effects.readText(path);
  } catch (cause) {
    throw new ManifestError("manifest-unreadable", `the file cannot be read: ${wordsOf(cause)}`, {
      place: path,
      hint: "check that it is a text file and that you may read it",
      cause,
    });
  }
}

/**
 * Writes a text whole or not at all.
 *
 * @param words.what  the file in words, as "the evaluation"
 * @throws CounterpoiseError  code `not-written`: the disk refused, in its own words
 */
export async function writeWhole(
  path: string,
  text: string,
  words: { readonly what: string; readonly hint: string },
  effects: Pick<Effects, "writeAtomically">,
): Promise<void> {
  try {
    await effects.writeAtomically(path, text);
  } catch (cause) {
    throw new CounterpoiseError("not-written", `${words.what} cannot be written: ${wordsOf(cause)}`, {
      place: path,
      hint: words.hint,
      cause,
    });
  }
}

/** SHA-256 of a text, in hexadecimal. */
export function sumOf(text: string): string {
  return createHash("sha256").update(text).digest("hex");
}

/** The first 64 bits of `sumOf`: enough to see that something is another than it was. */
export function fingerprintOf(text: string): string {
  return sumOf(text).slice(0, 16);
}

const wordsOf = (cause: unknown): string => (cause instanceof Error ? cause.message : String(cause));

/** A path written in a manifest, as the disk knows it: relative to the manifest's folder. */
export function besideManifest(manifestPath: string, path: string): string {
  return isAbsolute(path) ? path : join(dirname(manifestPath), path);
}

/** A path on the disk as a manifest would write it: where the program was started does not show. */
export function fromManifest(manifestPath: string, path: string): string {
  return relative(dirname(manifestPath), path);
}

/** The manifest's own name, wherever it lies. */
export function fileName(manifestPath: string): string {
  return basename(manifestPath);
}
