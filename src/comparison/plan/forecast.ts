import type { PlanCell } from "../../contract/plan.ts";
import type { Settings } from "../../contract/settings.ts";
import { overSpread } from "../overSpread.ts";
import { runsForEquivalence } from "../runsForEquivalence.ts";
import { runsNeeded } from "../runsNeeded.ts";
import { detectableDifference } from "./detectableDifference.ts";
import { expectedHalfWidth } from "./expectedHalfWidth.ts";

/** A spread to forecast from; `spreadDf` null where it is assumed, and so has no uncertainty of its own. */
export interface SpreadToPlan {
  readonly sd: readonly [baseline: number, candidate: number];
  readonly spreadDf: number | null;
}

export type RunsForecast = Pick<PlanCell, "runs_for_difference" | "runs_for_equivalence">;

/** What the tests ask for: the two-sided level of a single cell's, and the thresholds. */
interface Aims {
  readonly level: number;
  readonly settings: Settings;
}

/** What a number of runs per configuration shows: expected half-width and smallest difference seen, metres. */
export function forecast(
  { sd, spreadDf }: SpreadToPlan,
  { runs, level, settings }: Aims & { readonly runs: number },
): Pick<PlanCell, "half_width" | "detectable"> {
  // both grow in proportion to the spread
  const halfWidth = expectedHalfWidth(runs, sd, settings.interval_level);
  const detectable = detectableDifference({ runs, sd, level, power: settings.power });
  const ends = overAny(spreadDf, settings);
  return {
    half_width: ends((factor) => factor * halfWidth),
    detectable: ends((factor) => factor * detectable),
  };
}

/**
 * Runs per configuration that settle a cell either way; null without a smallest difference.
 *
 * @param aims.known  runs for the difference where `runsNeeded` was asked the same already: it is most of the cost
 */
export function runsForecast(
  { sd, spreadDf }: SpreadToPlan,
  smallestDifference: number | null,
  { level, settings, known = null }: Aims & { readonly known?: PlanCell["runs_for_difference"] },
): RunsForecast {
  if (smallestDifference === null) return { runs_for_difference: null, runs_for_equivalence: null };
  const wanted = {
    smallestDifference,
    sd,
    // an assumed spread has one answer: what stands for its degrees of freedom does not touch the middle
    spreadDf: spreadDf ?? 1,
    power: settings.power,
    spreadLevel: settings.spread_level,
    leastRuns: settings.least_runs,
  };
  const difference = known ?? runsNeeded({ ...wanted, level });
  const equivalence = runsForEquivalence({ ...wanted, level: (1 - settings.equivalence_level) / 2 });
  const stated = <T>(answer: { low: T; middle: T; high: T }): { low: T; middle: T; high: T } =>
    spreadDf === null ? { low: answer.middle, middle: answer.middle, high: answer.middle } : answer;
  return { runs_for_difference: stated(difference), runs_for_equivalence: stated(equivalence) };
}

function overAny(
  spreadDf: number | null,
  { spread_level: spreadLevel }: Settings,
): <T>(answer: (factor: number) => T) => { low: T; middle: T; high: T } {
  return (answer) =>
    spreadDf === null
      ? { low: answer(1), middle: answer(1), high: answer(1) }
      : overSpread({ spreadDf, spreadLevel }, answer);
}
