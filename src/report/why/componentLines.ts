import type { CampaignEvaluation } from "../../contract/evaluation.ts";
import type { Components } from "../../contract/reasons.ts";
import { allOf } from "../text/countText.ts";
import { fixed } from "../text/numberText.ts";
import { sizeRange } from "../text/sizeText.ts";

/** Whether more runs or more cycles would narrow the intervals, in sentences. */
export function componentLines({ reasons }: CampaignEvaluation): string[] {
  const { components } = reasons;
  if (components.length === 0) return [];
  const cycles = components.filter(({ helps }) => helps === "more runs or more cycles");
  const all = (count: number): string => allOf(count, "cell", "cells");
  const runsAlone = components.length - cycles.length;
  const first =
    cycles.length === 0
      ? `In ${all(components.length)} the runs differ by more than their cycles explain: only more runs narrow the intervals, longer runs do not.`
      : runsAlone === 0
        ? `In ${all(components.length)} longer runs (more cycles) would narrow the intervals as well as more runs.`
        : `In ${cycles.length} of ${components.length} cells longer runs (more cycles) would narrow the intervals too; in the others only more runs do.`;
  const worst = components.reduce((most, one) => (one.design_effect > most.design_effect ? one : most));
  return [
    `${first} Standard deviation of a cell's rms between runs ${sizeRange(components.map(betweenRuns))}, between the cycles of a run ${sizeRange(components.map(betweenCycles))} (restricted maximum likelihood).`,
    `Cycles counted as if they were runs would understate the variance up to ${fixed(worst.design_effect, 1)} times.`,
  ];
}

const betweenRuns = ({ between_runs: sd }: Components): number => sd;
const betweenCycles = ({ between_cycles: sd }: Components): number => sd;
