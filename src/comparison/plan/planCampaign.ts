import { measureOf } from "../../catalogue/measures.ts";
import type { Campaign } from "../../contract/campaign.ts";
import { contrastsOf } from "../../contract/campaignParts.ts";
import type { Cell } from "../../contract/cell.ts";
import type { RunEvaluation } from "../../contract/evaluation.ts";
import type { Plan, PlanCell } from "../../contract/plan.ts";
import type { Settings } from "../../contract/settings.ts";
import { familyPlaces } from "../cellRuns.ts";
import { chooseRuns } from "./chooseRuns.ts";
import { type FlownCell, flownCell } from "./flownCell.ts";
import { forecast, runsForecast } from "./forecast.ts";
import { checkWish, planDesigns } from "./planDesigns.ts";

/** In parts of the smallest difference; in parts of the mean flown where none is declared. House values. */
const ofSmallest = [0.25, 0.5, 1, 2, 4];
const ofMean = [0.05, 0.1, 0.2, 0.3];

/** The smallest difference of the family: the least that its subjects declare. */
function leastDeclared(campaign: Campaign, family: readonly FlownCell[]): number | null {
  const declared = family
    .map(({ described }) => campaign.smallestDifference[described.subject])
    .filter((difference) => difference !== null);
  return declared.length === 0 ? null : Math.min(...declared);
}

/**
 * Plausible spreads between runs, metres, where the runs have shown none: parts of the smallest difference, else of the mean of
 * the values flown (of the cells without a spread; where those were not flown, of all).
 *
 * @returns none where neither a smallest difference nor a run is there
 */
function assumedSpreads(
  campaign: Campaign,
  family: readonly FlownCell[],
): { sds: readonly number[]; smallestDifference: number | null } {
  const smallestDifference = leastDeclared(campaign, family);
  if (smallestDifference !== null)
    return { sds: ofSmallest.map((part) => part * smallestDifference), smallestDifference };
  const unknown = family.filter(({ spread }) => spread === null).flatMap(({ values }) => values);
  const values = unknown.length > 0 ? unknown : family.flatMap((cell) => cell.values);
  const mean = values.reduce((sum, value) => sum + value / values.length, 0);
  return { sds: mean > 0 ? ofMean.map((part) => part * mean) : [], smallestDifference };
}

/** What a person asks of a plan instead of what it would propose. */
export interface PlanWish {
  /** per configuration and trajectory, besides those flown */
  readonly runsToFly?: number;
  readonly blocks?: number;
  /** to be flown, and what the plan is for; default all of the campaign's */
  readonly trajectories?: readonly string[];
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
  const familySize = places.length * contrastsOf(campaign).length;
  const level = settings.family_error / Math.max(1, familySize);
  const aims = { level, settings };
  const { trajectories } = wish;
  const asked = trajectories === undefined ? places : places.filter((one) => trajectories.includes(one.trajectory));
  const family = asked.map((place) => flownCell(campaign, used, place, { cells, ...aims }));
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
    family: familySize,
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
