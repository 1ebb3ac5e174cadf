import type { Audit } from "../../contract/audit.ts";
import type { Campaign } from "../../contract/campaign.ts";
import type { RunEvaluation } from "../../contract/evaluation.ts";
import { subjects } from "../../foundation/tracks.ts";
import { mean, sampleStandardDeviation } from "../../numeric/descriptive.ts";
import { type CellPlace, cellRuns, familyPlaces, runValues } from "../cellRuns.ts";
import { differenceInterval, differenceP, estimateDifference } from "../estimateDifference.ts";
import { groupSums, sideCounts, sideCountsWithinBlocks } from "../permutationSums.ts";
import type { AuditedCampaign } from "./auditFinding.ts";

type Configuration = Audit["configurations"][string];

/**
 * Battery, mass, exclusions and checks of every declared configuration. Runs, and how many have a check, are counted over
 * all that are filed; packs, masses and valid samples are of the used runs, on which the verdicts rest.
 */
export function configurationTable({ campaign, runs }: AuditedCampaign): Audit["configurations"] {
  const table: Audit["configurations"] = {};
  for (const [key, { addedMass, counterweights }] of Object.entries(campaign.configurations)) {
    const filed = runs.filter(({ configuration }) => configuration === key);
    const used = filed.filter((run) => run.used);
    const packs = used.map(({ battery }) => battery).filter((battery) => battery !== null);
    table[key] = {
      runs: countRuns(campaign, filed),
      batteries: counted(packs),
      battery_unknown: used.length - packs.length,
      takeoff_mass: massOf(used.map(({ takeoff_mass }) => takeoff_mass).filter((mass) => mass !== null)),
      added_mass: addedMass,
      counterweights_mass:
        counterweights.length === 0 ? null : counterweights.reduce((sum, { mass: each }) => sum + each, 0),
      valid_fraction: Object.fromEntries(
        subjects.flatMap((subject) => {
          const shares = used.map((run) => run.valid_fraction[subject]).filter((share) => share !== undefined);
          return shares.length === 0 ? [] : [[subject, mean(Float64Array.from(shares))]];
        }),
      ),
      checks: counted(filed.flatMap(({ checks }) => [...new Set(checks.map(({ code }) => code))])),
    };
  }
  return table;
}

function countRuns(campaign: AuditedCampaign["campaign"], filed: readonly RunEvaluation[]): Configuration["runs"] {
  const lost = filed.filter((run) => !run.used);
  const aborted = lost.filter(({ outcome }) => outcome === "aborted");
  const rest = lost.filter(({ outcome }) => outcome !== "aborted");
  const byHand = new Set(campaign.runs.filter(({ exclude }) => exclude !== null).map(({ id }) => id));
  const excluded = rest.filter(({ id }) => byHand.has(id));
  return {
    filed: filed.length,
    used: filed.length - lost.length,
    unusable: rest.length - excluded.length,
    excluded: excluded.length,
    aborted: aborted.length,
    put_back: filed.filter((run) => run.put_back_because !== null).length,
  };
}

function counted(names: readonly string[]): Record<string, number> {
  const counts = new Map<string, number>();
  for (const name of [...names].sort()) counts.set(name, (counts.get(name) ?? 0) + 1);
  return Object.fromEntries(counts);
}

function massOf(masses: readonly number[]): Configuration["takeoff_mass"] {
  const column = Float64Array.from(masses);
  if (column.length === 0) return { n: 0, mean: null, sd: null, least: null, most: null };
  return {
    n: column.length,
    mean: mean(column),
    sd: column.length < 2 ? null : sampleStandardDeviation(column),
    least: Math.min(...column),
    most: Math.max(...column),
  };
}

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
