import { join, resolve } from "node:path";
import { thisBuild } from "../thisBuild.ts";
import { besideManifest } from "../wholeText.ts";
import { type Records, recordsIn } from "./records.ts";

/** What a person asked for: where measurements are kept, if anywhere, and whether sums of earlier times are believed. */
export interface KeepingWish {
  /** null: beside the manifest */
  readonly folder: string | null;
  readonly off: boolean;
  readonly verify: boolean;
}

export const usualKeeping: KeepingWish = { folder: null, off: false, verify: false };

/** Where the measurements of a campaign are kept: in the folder asked for, else in `.counterpoise/kept` beside its manifest. */
export function keptFolder(manifestPath: string, { folder }: Pick<KeepingWish, "folder">): string {
  return resolve(folder ?? besideManifest(manifestPath, join(".counterpoise", "kept")));
}

/**
 * The records of a campaign, and the program that they are of: the build with all that it runs on, for mathematics and order of
 * letters are the engine's.
 *
 * @param build  by default this build's hash; tests pass their own
 * @returns null where nothing is kept: it was switched off, or the program runs from its sources, where nothing tells one state
 *   of them from another
 */
export function keptOf(
  manifestPath: string,
  wish: KeepingWish,
  build: string | null = thisBuild.parts,
): { readonly records: Records; readonly program: string } | null {
  if (wish.off || build === null) return null;
  const program = JSON.stringify([build, process.versions, process.arch]);
  return { records: recordsIn(keptFolder(manifestPath, wish)), program };
}
