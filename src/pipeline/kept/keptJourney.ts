import { join, resolve } from "node:path";
import { diskEffects } from "../effects.ts";
import type { JourneyOptions } from "../measureCampaign.ts";
import { sideBySide } from "../runPool.ts";
import { thisBuild } from "../thisBuild.ts";
import { besideManifest } from "../wholeText.ts";
import { keptRuns } from "./keptRuns.ts";
import { keptSums } from "./keptSums.ts";
import { recordsIn } from "./records.ts";

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
 * How a command measures: with kept measurements, unless they are switched off, or the program is run from its sources, where
 * nothing tells one state of them from another.
 *
 * @param build    by default this build's hash; tests pass their own
 * @param measure  how runs are measured that are not kept
 * @returns options of a journey, and `save`, to be called when it has ended
 */
export function keptJourney(
  manifestPath: string,
  wish: KeepingWish = usualKeeping,
  { build = thisBuild.parts, measure = sideBySide, effects = diskEffects } = {},
): Required<Pick<JourneyOptions, "effects" | "measureRuns">> & { readonly save: () => Promise<void> } {
  if (wish.off || build === null) return { effects, measureRuns: measure, save: async () => undefined };
  const records = recordsIn(keptFolder(manifestPath, wish));
  const sums = keptSums(effects, { records, verify: wish.verify });
  return { effects: sums.effects, measureRuns: keptRuns(measure, records, programOf(build)), save: sums.save };
}

/** The build with all that it runs on: mathematics and order of letters are the engine's. */
function programOf(build: string): string {
  return JSON.stringify([build, process.versions, process.arch]);
}
