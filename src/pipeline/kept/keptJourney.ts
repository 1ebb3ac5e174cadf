import { diskEffects } from "../effects.ts";
import type { JourneyOptions } from "../measureCampaign.ts";
import { sideBySide } from "../runPool.ts";
import { type KeepingWish, keptOf, usualKeeping } from "./keeping.ts";
import { keptRuns } from "./keptRuns.ts";
import { keptSums } from "./keptSums.ts";

/**
 * How a command measures: with kept measurements, where they are kept (`keptOf`).
 *
 * @returns options of a journey, and `save`, to be called when it has ended
 */
export function keptJourney(
  manifestPath: string,
  wish: KeepingWish = usualKeeping,
): Required<Pick<JourneyOptions, "effects" | "measureRuns">> & { readonly save: () => Promise<void> } {
  const kept = keptOf(manifestPath, wish);
  if (kept === null) return { effects: diskEffects, measureRuns: sideBySide, save: async () => undefined };
  const { effects, save } = keptSums(diskEffects, { records: kept.records, verify: wish.verify });
  return { effects, measureRuns: keptRuns(sideBySide, kept.records, kept.program), save };
}
