import type { AlignedRun } from "../alignment/alignRun.ts";
import type { RunEvaluation } from "../contract/evaluation.ts";
import type { RunExtras } from "../contract/runExtras.ts";
import type { Settings } from "../contract/settings.ts";
import { measureAllan } from "./extras/measureAllan.ts";
import { type BudgetFacts, measureBudget } from "./extras/measureBudget.ts";
import { measurePath } from "./extras/measurePath.ts";
import { measureSpectrum } from "./extras/measureSpectrum.ts";

/**
 * The catalogue of what explains a run's error: path, budget, Allan deviation and spectrum of an aligned run.
 *
 * @param facts        frames and signals of the campaign
 * @param synchronous  the run's synchronous split, for the amplitudes of the harmonics in the spectrum; null where there is none
 */
export function measureExtras(
  run: AlignedRun,
  facts: BudgetFacts,
  synchronous: RunEvaluation["synchronous"],
  settings: Settings,
): RunExtras {
  return {
    path: measurePath(run, settings),
    budget: measureBudget(run, facts, settings),
    allan: measureAllan(run, settings),
    spectrum: measureSpectrum(run, synchronous, settings),
  };
}
