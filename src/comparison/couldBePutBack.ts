import type { Campaign } from "../contract/campaign.ts";
import type { RunEvaluation } from "../contract/evaluation.ts";

/** A person excluded the run, and nothing else speaks against it: unusable and aborted runs are never put back. */
export function couldBePutBack(campaign: Campaign, run: RunEvaluation): boolean {
  if (run.outcome !== "completed" || run.checks.some(({ severity }) => severity === "unusable")) return false;
  return campaign.runs.some(({ id, exclude }) => id === run.id && exclude !== null);
}
