import type { Campaign } from "../contract/campaign.ts";
import type { RunEvaluation } from "../contract/evaluation.ts";
import type { Components } from "../contract/reasons.ts";
import type { Settings } from "../contract/settings.ts";
import { axes } from "../foundation/tracks.ts";
import { nestedVariance } from "./components/nestedVariance.ts";
import { neighbourCorrelation, nestedVarianceInterval } from "./components/nestedVarianceInterval.ts";
import { designEffect, intraclass, runSums } from "./components/nestedVarianceRuns.ts";

type ComponentsSettings = Pick<Settings, "interval_level" | "components_least_pairs" | "components_helpful_cut">;

/**
 * Would more runs help, or more cycles in each? The rms of each cycle, taken apart into what differs between runs and what
 * between the cycles of a run (REML; runs of one configuration in one block repeat one another). It judges nothing: verdicts
 * rest on one number per run.
 *
 * With r runs of n cycles in a configuration the variance of its mean is (sb^2 + se^2/n)/r: twice the runs halve it, endless
 * cycles leave sb^2/r. `r` is the mean number of runs per configuration as flown, `n` the harmonic mean of their cycles.
 *
 * Cycles are taken to be independent within a run. Where neighbours are alike (`neighbour_correlation` above 0) part of what
 * they have in common is counted between runs: the standard error as flown stays right, and twice and endless cycles are
 * promised too little, never too much. Where they alternate (below 0) it is the other way round: more cycles help less than
 * stated. Both simulated in tests/comparison/varianceComponents.test.ts.
 *
 * @param runs  all runs of the evaluation; those with `used`, of the pair, with 2 cycles at least, count
 * @returns trajectories x {vehicle, effector} x axes; left out where no run repeats another, or the cycles are all alike
 */
export function varianceComponents(
  campaign: Campaign,
  runs: readonly RunEvaluation[],
  settings: ComponentsSettings,
): Components[] {
  const pair = [campaign.baseline, campaign.candidate];
  return Object.keys(campaign.trajectories).flatMap((trajectory) => {
    const flown = runs.filter((run) => run.used && run.trajectory === trajectory && pair.includes(run.configuration));
    return (["vehicle", "effector"] as const).flatMap((subject) =>
      axes.flatMap((axis) => {
        const cycled = flown.flatMap((run) => {
          const cycles = run.tracking.cycles?.[subject]?.[axis].per_cycle ?? [];
          const known = cycles.filter((value) => value !== null);
          if (known.length < 2) return [];
          const group = JSON.stringify([run.configuration, run.block]);
          return [{ configuration: run.configuration, cycles, sums: runSums(group, known) }];
        });
        const figures = componentsOf(cycled, settings);
        return figures === null ? [] : [{ trajectory, subject, axis, measure: "rms of a cycle" as const, ...figures }];
      }),
    );
  });
}

interface CycledRun {
  readonly configuration: string;
  readonly cycles: readonly (number | null)[];
  readonly sums: ReturnType<typeof runSums>;
}

function componentsOf(
  runs: readonly CycledRun[],
  settings: ComponentsSettings,
): Omit<Components, "trajectory" | "subject" | "axis" | "measure"> | null {
  const sums = runs.map((run) => run.sums);
  const variance = nestedVariance(sums);
  if (variance === null) return null;
  const { betweenRuns, betweenCycles } = variance;
  const cycles = runs.length / sums.reduce((sum, { count }) => sum + 1 / count, 0);
  const perConfiguration = runs.length / new Set(runs.map(({ configuration }) => configuration)).size;
  const error = (r: number, n: number): number => Math.hypot(betweenRuns, betweenCycles / Math.sqrt(n)) / Math.sqrt(r);
  const flown = error(perConfiguration, cycles);
  const twiceCycles = error(perConfiguration, 2 * cycles);
  const correlation = intraclass(betweenRuns, betweenCycles);
  return {
    runs: runs.length,
    cycles,
    between_runs: betweenRuns,
    between_cycles: betweenCycles,
    between_runs_ci95: nestedVarianceInterval(sums, settings.interval_level),
    intraclass: correlation,
    design_effect: designEffect(cycles, correlation),
    neighbour_correlation: neighbourCorrelation(
      runs.map((run) => run.cycles),
      settings.components_least_pairs,
    ),
    standard_error: {
      flown,
      twice_runs: error(2 * perConfiguration, cycles),
      twice_cycles: twiceCycles,
      endless_cycles: error(perConfiguration, Number.POSITIVE_INFINITY),
    },
    helps: twiceCycles <= (1 - settings.components_helpful_cut) * flown ? "more runs or more cycles" : "more runs",
  };
}
