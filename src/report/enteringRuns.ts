import type { Cell, CellSide } from "../contract/cell.ts";
import type { CampaignEvaluation } from "../contract/evaluation.ts";
import { countRange } from "./text/countText.ts";

/** Runs of baseline and candidate. */
export type RunCounts = readonly [number, number];

/**
 * How many runs of either configuration enter a cell's difference: all of them, or within blocks only those in blocks that
 * hold both. These are the runs that count for "too few runs".
 */
export function enteringRuns(cell: Cell, { runs }: Pick<CampaignEvaluation, "runs">): RunCounts {
  const { baseline, candidate, method } = cell;
  if (method !== "blocked") return [baseline.n, candidate.n];
  const blockOf = new Map(runs.map(({ id, block }) => [id, block]));
  // runs without a block share one
  const blocks = (side: CellSide): (string | null)[] => side.runs.map((id) => blockOf.get(id) ?? null);
  const [own, other] = [blocks(baseline), blocks(candidate)];
  const [ownNames, otherNames] = [new Set(own), new Set(other)];
  return [own.filter((block) => otherNames.has(block)).length, other.filter((block) => ownNames.has(block)).length];
}

/** Some runs of the cell stand in blocks that hold one configuration, and say nothing of the difference. */
export function hasStrays(cell: Cell, evaluation: Pick<CampaignEvaluation, "runs">): boolean {
  const [baseline, candidate] = enteringRuns(cell, evaluation);
  return baseline < cell.baseline.n || candidate < cell.candidate.n;
}

/** Counts of several cells: "2 v 2", "1 to 2 v 2". */
export function countsText(counts: readonly RunCounts[]): string {
  return ([0, 1] as const).map((side) => countRange(counts.map((each) => each[side]))).join(" v ");
}
