import { type Cell, isUntested } from "../contract/cell.ts";
import type { CampaignEvaluation } from "../contract/evaluation.ts";
import { countsText, enteringRuns, hasStrays } from "./enteringRuns.ts";

/** The cells that carry a verdict: the declared family. */
export function familyCells({ cells }: CampaignEvaluation): Cell[] {
  return cells.filter((cell) => cell.in_family && cell.verdict !== null);
}

/** A cell that more flights could settle. */
export function isOpen({ verdict }: Cell): boolean {
  return verdict === "within the noise" || isUntested(verdict);
}

/** A cell in which the vehicle or the effector is said to have become steadier or less steady. */
export function isClaim({ verdict }: Cell): boolean {
  return verdict === "steadier" || verdict === "less steady";
}

/** Runs of the baseline, runs of the candidate: "5 v 5"; "2 v 2 of 4 v 5" where only some of them enter the difference. */
export function runsText(cell: Cell, evaluation: Pick<CampaignEvaluation, "runs">): string {
  const { baseline, candidate } = cell;
  const used = countsText([[baseline.n, candidate.n]]);
  return hasStrays(cell, evaluation) ? `${countsText([enteringRuns(cell, evaluation)])} of ${used}` : used;
}

/** Runs without which there is no verdict, as the evaluation applied it. */
export function leastRuns({ settings }: CampaignEvaluation): number {
  return settings.thresholds.least_runs ?? 3;
}
