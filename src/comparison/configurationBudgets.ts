import type { RunEvaluation } from "../contract/evaluation.ts";
import type { ConfigurationBudget } from "../contract/reasons.ts";
import type { BudgetEvaluation } from "../contract/runExtras.ts";

/** What of a run its share in the budget is taken from. */
export type BudgetRun = Pick<RunEvaluation, "id" | "trajectory" | "configuration" | "used" | "budget">;

type Figures = ConfigurationBudget["norm"];
const places = ["x", "y", "z", "norm"] as const;
const parts = ["vehicle", "attitude", "arm"] as const;

/**
 * Error budget of the effector over the used runs of each configuration on each trajectory, sham and others included.
 *
 * Every run counts alike, however long: the mean square is the mean of the runs' mean squares, and so is that of each part. A
 * part's share is that of its product with the total, mean(part total) = share x rms^2 of each run:
 *
 *   share = sum over runs of (share rms^2) / sum over runs of rms^2
 *
 * so that the shares add up to 1 as those of each run do. A part that works against the others has a negative one.
 *
 * Runs measured in the hold window for want of cycles stand apart from those measured in their cycles.
 *
 * @returns in the order in which trajectories, and in them configurations, appear among the runs; cycles before hold
 * @source as for the budget of one run: A. F. Shorrocks, Econometrica 50 (1982) 193-211
 */
export function configurationBudgets(runs: readonly BudgetRun[]): ConfigurationBudget[] {
  const found: { run: BudgetRun; budget: BudgetEvaluation }[] = [];
  for (const run of runs) if (run.used && run.budget !== null) found.push({ run, budget: run.budget });
  return distinct(found.map(({ run }) => run.trajectory)).flatMap((trajectory) => {
    const onIt = found.filter(({ run }) => run.trajectory === trajectory);
    return distinct(onIt.map(({ run }) => run.configuration)).flatMap((configuration) =>
      (["cycles", "hold"] as const).flatMap((window) => {
        const own = onIt.filter(({ run, budget }) => run.configuration === configuration && budget.window === window);
        if (own.length === 0) return [];
        const [x, y, z, norm] = places.map((place) => meanFigures(own.map(({ budget }) => budget[place]))) as [
          Figures,
          Figures,
          Figures,
          Figures,
        ];
        return [{ trajectory, configuration, window, runs: own.map(({ run }) => run.id), x, y, z, norm }];
      }),
    );
  });
}

function meanFigures(runs: readonly Figures[]): Figures {
  const square = runs.reduce((sum, { rms }) => sum + rms * rms, 0);
  const perPart = (of: (part: (typeof parts)[number]) => number): Figures["parts"] => {
    const [vehicle, attitude, arm] = parts.map(of) as [number, number, number];
    return { vehicle, attitude, arm };
  };
  return {
    rms: Math.sqrt(square / runs.length),
    parts: perPart((part) => Math.sqrt(runs.reduce((sum, run) => sum + run.parts[part] ** 2, 0) / runs.length)),
    shares:
      square > 0
        ? perPart((part) => runs.reduce((sum, { rms, shares }) => sum + (shares?.[part] ?? 0) * rms * rms, 0) / square)
        : null,
  };
}

function distinct(names: readonly string[]): string[] {
  return [...new Set(names)];
}
