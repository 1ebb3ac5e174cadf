import { flightDay } from "../comparison/plan/flightDay.ts";
import { planCampaign } from "../comparison/plan/planCampaign.ts";
import type { Campaign } from "../contract/campaign.ts";
import type { CampaignEvaluation } from "../contract/evaluation.ts";
import type { FlightDay, Plan } from "../contract/plan.ts";
import { type Settings, settingsFor } from "../contract/settings.ts";
import { diskEffects, type Effects } from "./effects.ts";
import { evaluateCampaign } from "./evaluateCampaign.ts";
import { loadCampaign } from "./loadCampaign.ts";
import type { Progress } from "./measureCampaign.ts";
import type { MeasureRuns } from "./runPool.ts";

/** What is asked of a day; what is left out follows from the plan. */
export interface PlanWishes {
  /** to fly, per configuration and trajectory, besides those flown */
  readonly runs?: number | undefined;
  readonly blocks?: number | undefined;
  /** fly these alone, and plan for their cells; default all */
  readonly trajectories?: readonly string[] | undefined;
  /** fly the sham too; default no, declared or not: it costs half as many flights again */
  readonly sham?: boolean | undefined;
  /** of the order; default `seedOf` the runs that count */
  readonly seed?: number | undefined;
}

export interface Planned {
  readonly plan: Plan;
  readonly day: FlightDay;
}

/**
 * From a manifest and its logs to what to fly next. A plan shows no verdict, so no look is counted.
 *
 * Runs that all fail, and logs that are not there yet, can be planned on: the plan then stands on assumed spreads.
 *
 * @throws ManifestError  as `evaluateCampaign`; CounterpoiseError  as `planOf`
 */
export async function planFlights(
  manifestPath: string,
  options: {
    effects?: Effects;
    settings?: Settings;
    wish?: PlanWishes;
    measureRuns?: MeasureRuns;
    onProgress?: (event: Progress) => void;
  } = {},
): Promise<Planned & { readonly evaluation: CampaignEvaluation }> {
  const { wish = {}, effects = diskEffects, settings, ...rest } = options;
  const { campaign } = await loadCampaign(manifestPath, effects);
  const evaluation = await evaluateCampaign(manifestPath, {
    ...rest,
    effects,
    ...(settings === undefined ? {} : { settings }),
    look: false,
  });
  return { ...planOf(campaign, evaluation, wish, settingsFor(campaign, settings)), evaluation };
}

/**
 * The plan and the day that follow from an evaluation.
 *
 * @param evaluation  of this campaign
 * @throws CounterpoiseError  codes `not-a-plan`, `no-sham`: as `planCampaign` and `flightDay`
 */
export function planOf(
  campaign: Campaign,
  { runs, cells }: Pick<CampaignEvaluation, "runs" | "cells">,
  { runs: runsToFly, blocks, sham = false, seed, trajectories }: PlanWishes = {},
  settings: Settings = settingsFor(campaign),
): Planned {
  const only = trajectories === undefined ? {} : { trajectories };
  const plan = planCampaign(campaign, runs, cells, settings, {
    ...(runsToFly === undefined ? {} : { runsToFly }),
    ...(blocks === undefined ? {} : { blocks }),
    ...only,
  });
  const flownIds = runs.map(({ id }) => id);
  const used = runs.filter((run) => run.used).map(({ id }) => id);
  const day = flightDay(campaign, plan, { flownIds, sham, seed: seed ?? seedOf(used), ...only }, settings);
  return { plan, day };
}

/**
 * A seed from names, 0 to 2^32 - 1: another after every day that adds runs, the same until then.
 *
 * @source FNV-1a, 32 bits: IETF draft-eastlake-fnv (from memory)
 */
export function seedOf(names: readonly string[]): number {
  let hash = 0x811c9dc5;
  for (const byte of new TextEncoder().encode(names.join("\n"))) hash = Math.imul(hash ^ byte, 0x01000193) >>> 0;
  return hash;
}
