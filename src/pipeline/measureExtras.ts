import type { AlignedRun } from "../alignment/alignRun.ts";
import type { RunDeclaration } from "../contract/campaign.ts";
import type { RunEvaluation } from "../contract/evaluation.ts";
import type { AllanEvaluation, RunExtras } from "../contract/runExtras.ts";
import type { Settings } from "../contract/settings.ts";
import { axes, subjects } from "../foundation/signals.ts";
import { allanDeviation } from "../metrics/allanDeviation.ts";
import { evenStretches } from "../metrics/evenStretches.ts";
import { intervalOf, rounded, some } from "./extras/common.ts";
import { type BudgetFacts, measureBudget } from "./extras/measureBudget.ts";
import { type MovingFacts, measureMoving } from "./extras/measureMoving.ts";
import { measurePath } from "./extras/measurePath.ts";
import { measureSpectrum } from "./extras/measureSpectrum.ts";
import { sliceErrors } from "./windowSlices.ts";

/**
 * The catalogue of what explains a run's error: path, budget, Allan deviation, spectrum and moving moment of an aligned run.
 *
 * @param facts        frames, signals and masses of the campaign
 * @param synchronous  the run's synchronous split, for the amplitudes of the harmonics in the spectrum; null where there is none
 */
export function measureExtras(
  run: AlignedRun,
  facts: BudgetFacts & MovingFacts,
  declaration: RunDeclaration,
  synchronous: RunEvaluation["synchronous"],
  settings: Settings,
): RunExtras {
  return {
    path: measurePath(run, settings),
    budget: measureBudget(run, facts, settings),
    allan: measureAllan(run, settings),
    spectrum: measureSpectrum(run, synchronous, settings),
    ...measureMoving(run, facts, declaration, settings),
  };
}

/** Overlapping Allan deviation of each subject in the hold window, where the command rests: that of the position is that of the error. */
function measureAllan(run: AlignedRun, settings: Settings): AllanEvaluation | null {
  if (run.hold === null) return null;
  const found: AllanEvaluation = {};
  for (const subject of subjects) {
    const track = run.subjects[subject];
    if (track === undefined) continue;
    const slice = sliceErrors(track, run.hold);
    const even = evenStretches(slice.t, [slice.x, slice.y, slice.z], {
      interval: intervalOf(run, subject),
      gapIntervals: settings.gap_intervals,
    });
    if (!even.stretches.some((stretch) => stretch[0]!.length >= 8)) continue;
    const deviations = axes.map((_, axis) =>
      allanDeviation(
        even.stretches.map((stretch) => stretch[axis]!),
        { interval: even.interval, perOctave: settings.allan_per_octave, level: settings.extras_level },
      ),
    );
    const of = (axis: number): { deviation: number[]; low: number[]; high: number[] } => {
      const { deviation, low, high } = deviations[axis]!;
      return { deviation: rounded(deviation), low: rounded(low), high: rounded(high) };
    };
    found[subject] = { tau: rounded(deviations[0]!.tau), x: of(0), y: of(1), z: of(2), level: settings.extras_level };
  }
  return some(found);
}
