import { measureOf } from "../../catalogue/measures.ts";
import type { Campaign } from "../../contract/campaign.ts";
import type { Cell } from "../../contract/cell.ts";
import type { RunEvaluation } from "../../contract/evaluation.ts";
import type { Plan, PlanCell } from "../../contract/plan.ts";
import type { Settings } from "../../contract/settings.ts";
import { familyPlaces } from "../cellPlaces.ts";
import { assumedSpreads } from "./assumedSpreads.ts";
import { checkWish } from "./checkWish.ts";
import { chooseRuns } from "./chooseRuns.ts";
import { flownCell } from "./flownCell.ts";
import { forecast, runsForecast } from "./forecast.ts";
import { planDesigns } from "./planDesigns.ts";

/** What a person asks of a plan instead of what it would propose. */
export interface PlanWish {
  /** per configuration and trajectory, besides those flown */
  readonly runsToFly?: number;
  readonly blocks?: number;
}

/**
 * What another flight day could show: for every cell of the family the interval to be expected, the smallest difference seen,
 * and the runs that would settle it, over the uncertainty of the spread that was flown; and what designs could show at all.
 *
 * Numbers of runs are totals per configuration and trajectory, flown before or not. Forecasts are Welch's, for equal numbers
 * of either configuration, with the spreads that `plannedSpread` takes: within blocks where the difference is taken within
 * blocks.
 *
 * @param runs   all runs of the evaluation; those with `used` count
 * @param cells  as judged: which questions are open
 * @throws CounterpoiseError  code `not-a-plan`: a wish for fewer than 2 runs, or for more blocks than runs
 * @source design, section 6, items 5 and 9; each forecast names its own
 */
export function planCampaign(
  campaign: Campaign,
  runs: readonly RunEvaluation[],
  cells: readonly Cell[],
  settings: Settings,
  wish: PlanWish = {},
): Plan {
  checkWish({ runs: wish.runsToFly, blocks: wish.blocks });
  const used = runs.filter((run) => run.used);
  const places = familyPlaces(campaign);
  const level = settings.family_error / Math.max(1, places.length);
  const aims = { level, settings };
  const family = places.map((place) => flownCell(campaign, used, place, { cells, ...aims }));
  const spreads = family.some(({ spread }) => spread === null)
    ? assumedSpreads(campaign, family)
    : { sds: [], smallestDifference: null };
  const choice = chooseRuns({ campaign, used, family, wish, settings });
  const planned = { runs: choice.runsPerConfiguration, ...aims };
  return {
    unit: measureOf(campaign.primary).unit,
    runs_per_configuration: choice.runsPerConfiguration,
    runs_to_fly: choice.toFly,
    flown: choice.flown,
    because: choice.because,
    blocks: choice.blocks,
    power: settings.power,
    level,
    family: places.length,
    cells: family.flatMap(({ described, spread, needed }): PlanCell[] =>
      spread === null
        ? []
        : [
            {
              ...described,
              spread: { source: "flown", sd: [...spread.sd], df: spread.spreadDf },
              ...forecast(spread, planned),
              ...needed,
            },
          ],
    ),
    assumed: spreads.sds.map((sd) => {
      const assumed = { sd: [sd, sd] as const, spreadDf: null };
      return {
        sd,
        smallest_difference: spreads.smallestDifference,
        ...forecast(assumed, planned),
        ...runsForecast(assumed, spreads.smallestDifference, aims),
      };
    }),
    designs: planDesigns(level, settings),
  };
}
