import type { Cell } from "../contract/cell.ts";
import type { CampaignEvaluation } from "../contract/evaluation.ts";
import { placesText } from "./cellPlaces.ts";
import { sizeRange } from "./text/sizeText.ts";

/**
 * Where a constant offset carries most of an error whose verdict nobody doubts for it: the rms says little of steadiness there,
 * whatever it says. "" where there is none.
 *
 * @param family  cells that carry a verdict
 */
export function constantSentence({ settings }: CampaignEvaluation, family: readonly Cell[]): string {
  const least = settings.thresholds.constant_share ?? 0.5;
  const cells = family.filter(({ verdict, constant }) => verdict !== "doubted" && (constant?.share ?? 0) > least);
  if (cells.length === 0) return "";
  const offsets = cells.map(({ constant }) => Math.max(Math.abs(constant!.common), (constant!.block_step ?? 0) / 2));
  const subjects = new Set(cells.map(({ subject }) => subject));
  const frames = ["`frames: onboard`", ...(subjects.has("effector") ? ["`tool_point`", "`arm_base`"] : [])].join(", ");
  return `A constant offset (${sizeRange(offsets, { decimals: 1 })}) carries most of the error of ${placesText(cells, family)}, so the rms says little of steadiness there: look at ${frames}, or judge the spread (primary: sd).`;
}
