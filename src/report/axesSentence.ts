import type { Cell } from "../contract/cell.ts";
import type { CampaignEvaluation } from "../contract/evaluation.ts";
import { trajectoriesOf, trajectoriesText } from "./cellPlaces.ts";

/** That errors are judged forward, left and up, and why; "" where all are judged along the room's axes. */
export function axesSentence({ settings }: CampaignEvaluation, family: readonly Cell[]): string {
  const all = trajectoriesOf(family);
  const turned = all.filter((name) => settings.judged_in[name]?.axes === "heading");
  if (turned.length === 0) return "";
  const where = all.length === 1 ? "" : ` ${trajectoriesText(turned, all)}`;
  const figures = turned.map((name) => settings.judged_in[name]!);
  const apart = Math.max(...figures.map((one) => one.apart ?? 0));
  const why = figures.every(({ declared }) => declared)
    ? "as the manifest asks"
    : `since the runs face ways up to ${Math.round((apart * 180) / Math.PI)} degrees apart`;
  return `Errors${where} are judged forward, left and up of each run's heading, ${why}.`;
}
