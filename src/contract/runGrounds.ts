import type { Campaign, RunDeclaration } from "./campaign.ts";

/** What of a campaign the measurement of one run may read. Everything else is out of its reach, and so is no part of its key. */
const ofCampaign = [
  "baseline",
  "clocks",
  "configurations",
  "definitions",
  "flight",
  "frames",
  "parts",
  "signals",
  "smallestDifference",
  "tolerance",
  "trajectories",
  "vehicle",
] as const satisfies readonly (keyof Campaign)[];

/** What of a run's declaration its measurement may read. What a person says of the run (`exclude`, notes, outcome) is not among it. */
const ofRun = [
  "block",
  "configuration",
  "flight",
  "id",
  "logs",
  "span",
  "takeoffMass",
  "trajectory",
] as const satisfies readonly (keyof RunDeclaration)[];

/** The part of a campaign that a run is measured from. */
export type RunGrounds = Pick<Campaign, (typeof ofCampaign)[number]>;
/** The part of a run's declaration that it is measured from. */
export type MeasuredDeclaration = Pick<RunDeclaration, (typeof ofRun)[number]>;

/**
 * What a run is measured from, and nothing else: the measurement is handed this alone, so that what is not here cannot have
 * moved it. Of trajectories its own; of configurations its own and the baseline.
 */
export function groundsOf(
  campaign: RunGrounds,
  run: MeasuredDeclaration,
): { readonly campaign: RunGrounds; readonly declaration: MeasuredDeclaration } {
  const grounds = only(campaign, ofCampaign);
  return {
    campaign: {
      ...grounds,
      trajectories: named(campaign.trajectories, [run.trajectory]),
      configurations: named(campaign.configurations, [campaign.baseline, run.configuration]),
    },
    declaration: only(run, ofRun),
  };
}

function only<T extends object, K extends keyof T>(whole: T, keys: readonly K[]): Pick<T, K> {
  return Object.fromEntries(keys.flatMap((key) => (key in whole ? [[key, whole[key]]] : []))) as Pick<T, K>;
}

function named<T>(record: Readonly<Record<string, T>>, names: readonly string[]): Record<string, T> {
  return Object.fromEntries(
    names.flatMap((name) => (Object.hasOwn(record, name) ? [[name, record[name] as T] as const] : [])),
  );
}
