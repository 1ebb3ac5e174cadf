import type { Cell } from "../contract/cell.ts";
import type { CampaignEvaluation } from "../contract/evaluation.ts";

/** The cells that carry a verdict: the declared family. */
export function familyCells({ cells }: CampaignEvaluation): Cell[] {
  return cells.filter((cell) => cell.in_family && cell.verdict !== null);
}

/** A cell that more flights could settle. */
export function isOpen({ verdict }: Cell): boolean {
  return verdict === "within the noise" || verdict === "too few runs";
}

/** A cell in which the vehicle or the effector is said to have become steadier or less steady. */
export function isClaim({ verdict }: Cell): boolean {
  return verdict === "steadier" || verdict === "less steady";
}

/** "5 v 5": runs of the baseline, runs of the candidate. */
export function runsText({ baseline, candidate }: Cell): string {
  return `${baseline.n} v ${candidate.n}`;
}

/** Runs without which there is no verdict, as the evaluation applied it. */
export function leastRuns({ settings }: CampaignEvaluation): number {
  return settings.thresholds.least_runs ?? 3;
}
