import type { Audit } from "../../contract/audit.ts";
import type { Campaign } from "../../contract/campaign.ts";
import { familyPlaces } from "../cellPlaces.ts";
import { type CellPlace, cellRuns } from "../cellRuns.ts";
import { differenceInterval } from "../differenceInterval.ts";
import { differenceP } from "../differenceP.ts";
import { estimateDifference } from "../estimateDifference.ts";
import { groupSums, sideCounts, sideCountsWithinBlocks } from "../groupSums.ts";
import { runValues } from "../runValues.ts";
import type { AuditedCampaign } from "./auditFinding.ts";

type Sham = Audit["sham"][number];

/**
 * What balancing does at the same mass (candidate - sham), and what the mass alone does (sham - baseline), over the places of
 * the family: each the way the verdicts take their difference, without a verdict.
 *
 * @returns places that some used run of the sham has a number for; none without a sham
 */
export function shamContrasts({ campaign, used, settings }: AuditedCampaign): Audit["sham"] {
  const { sham, baseline, candidate } = campaign;
  if (sham === null) return [];
  return familyPlaces(campaign).flatMap((place): Sham[] => {
    const of = (first: string, second: string): { runs: ReturnType<typeof cellRuns>; pair: Campaign } => {
      const pair = { ...campaign, baseline: first, candidate: second };
      return { runs: cellRuns(pair, used, place), pair };
    };
    const own = of(sham, sham).runs;
    if (own.length === 0) return [];
    const contrast = (first: string, second: string): Sham["balancing"] => {
      const { runs, pair } = of(first, second);
      return contrastOf(runs, pair, settings.interval_level);
    };
    const { trajectory, subject, axis, metric }: CellPlace = place;
    return [
      {
        trajectory,
        subject,
        axis,
        metric,
        values: own.map(({ value }) => value),
        runs: own.map(({ id }) => id),
        balancing: contrast(sham, candidate),
        mass: contrast(baseline, sham),
      },
    ];
  });
}

function contrastOf(found: ReturnType<typeof cellRuns>, pair: Campaign, level: number): Sham["balancing"] {
  const columns = runValues(
    found.map(({ value, block, configuration }) => ({ value, block, candidate: configuration === pair.candidate })),
  );
  const groups = groupSums(columns);
  const estimate = estimateDifference(columns);
  const runs = estimate?.method === "blocked" ? sideCountsWithinBlocks(groups) : sideCounts(groups);
  if (estimate === null) {
    const means = ([0, 1] as const).map((side) => {
      const own = columns.values.filter((_, i) => columns.candidate[i] === side);
      return own.length === 0 ? null : own.reduce((sum, value) => sum + value, 0) / own.length;
    });
    const difference = means[0] === null || means[1] === null ? null : means[1]! - means[0]!;
    return { runs, difference, se: null, df: null, ci95: null, p: null };
  }
  const spread = estimate.standardError > 0;
  return {
    runs,
    difference: estimate.difference,
    se: spread ? estimate.standardError : null,
    df: spread ? estimate.degreesOfFreedom : null,
    ci95: differenceInterval(estimate, level),
    p: differenceP(estimate),
  };
}
