import type { JudgedIn } from "../../catalogue/measures.ts";
import type { Campaign } from "../../contract/campaign.ts";
import type { Cell } from "../../contract/cell.ts";
import type { RunEvaluation } from "../../contract/evaluation.ts";
import type { PlanCell } from "../../contract/plan.ts";
import type { Settings } from "../../contract/settings.ts";
import { type CellPlace, cellRuns, runValues } from "../cellRuns.ts";
import { testCell } from "../judgeFamily.ts";
import { type PlannedSpread, plannedSpread } from "../plannedError.ts";
import { type RunsForecast, runsForecast } from "./forecast.ts";

/** A cell of the family with what its runs have shown. */
export interface FlownCell {
  readonly described: Pick<
    PlanCell,
    "trajectory" | "subject" | "axis" | "metric" | "verdict" | "smallest_difference" | "flown"
  >;
  readonly judgedIn: JudgedIn;
  /** null where no run repeats another, or all are alike */
  readonly spread: PlannedSpread | null;
  readonly needed: RunsForecast;
  /** the cell's number of every used run, metres */
  readonly values: readonly number[];
}

const unknown: RunsForecast = { runs_for_difference: null, runs_for_equivalence: null };

/**
 * What the used runs have shown of a place of the family, and the runs that would settle it.
 *
 * @param options.cells  as judged
 * @param options.level  two-sided, of a single cell
 */
export function flownCell(
  campaign: Campaign,
  used: readonly RunEvaluation[],
  place: CellPlace,
  { cells, level, settings }: { cells: readonly Cell[]; level: number; settings: Settings },
): FlownCell {
  const found = cellRuns(campaign, used, place).map((run) => ({
    ...run,
    candidate: run.configuration === campaign.candidate,
  }));
  const margin = campaign.smallestDifference[place.subject];
  const member = { runs: runValues(found), margin };
  const spread = plannedSpread(member, testCell(member, { leastRuns: settings.least_runs }));
  const judged = cells.find(
    (cell) =>
      cell.in_family &&
      cell.trajectory === place.trajectory &&
      cell.subject === place.subject &&
      cell.axis === place.axis &&
      cell.metric === place.metric,
  );
  const candidates = found.filter(({ candidate }) => candidate).length;
  return {
    described: {
      ...place,
      verdict: judged?.verdict ?? null,
      smallest_difference: margin,
      flown: { baseline: found.length - candidates, candidate: candidates },
    },
    judgedIn: judged?.judged_in ?? "world",
    spread,
    needed:
      spread === null ? unknown : runsForecast(spread, margin, { level, settings, known: judged?.runs_needed ?? null }),
    values: found.map(({ value }) => value),
  };
}

/**
 * Runs per configuration in each block: as even as can be, the larger numbers first.
 *
 * @param runs    per configuration, whole, at least `blocks`
 * @param blocks  whole, at least 1
 * @example spreadOverBlocks(5, 2) // => [3, 2]
 */
export function spreadOverBlocks(runs: number, blocks: number): number[] {
  const least = Math.floor(runs / blocks);
  return Array.from({ length: blocks }, (_, b) => least + (b < runs - least * blocks ? 1 : 0));
}
