import { type LabThreshold, labThresholdNames, labThresholds, thresholdText } from "../../catalogue/thresholds.ts";
import type { Campaign } from "../campaign.ts";
import { defaultSettings } from "../settings.ts";
import { count, mapping, optional, quantity, share } from "./fields.ts";
import type { Reading } from "./reading.ts";
import type { TextMapping } from "./textTree.ts";

function fieldOf(name: LabThreshold) {
  const { kind, what } = labThresholds[name];
  const usual = thresholdText(name, defaultSettings[name]);
  if (kind === "share") return optional(share(`${what}, such as ${usual}`)).describe(what);
  return optional(kind === "count" ? count(what, 1000) : quantity(kind, "positive")).describe(what);
}

export const thresholdsField = optional(
  mapping(
    Object.fromEntries(labThresholdNames.map((name) => [name, fieldOf(name)])) as Record<
      LabThreshold,
      ReturnType<typeof fieldOf>
    >,
    "thresholds of the lab's own",
  ),
);

/** `thresholds`: those that the lab sets itself, in SI; all others are the usual ones (`settings.ts`). */
export function readThresholds(reading: Reading, root: TextMapping): Campaign["thresholds"] {
  const found = reading.read(thresholdsField, root.thresholds, ["thresholds"]) ?? {};
  return Object.fromEntries(Object.entries(found).filter(([, value]) => value !== null));
}
