import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import type { RunEvaluation } from "../../../src/contract/evaluation.ts";
import { type Axis, axes, type Subject } from "../../../src/foundation/signals.ts";
import { type Phasor, phasorOf } from "../../figures/phasor.ts";
import type { RunVectors } from "../../figures/synchronousFigure.ts";

/** The vectors of one harmonic of the used runs of baseline and candidate on a trajectory; runs without are left out. */
export function runVectors(
  runs: readonly RunEvaluation[],
  { baseline, candidate }: Pick<CampaignView, "baseline" | "candidate">,
  { trajectory, subject, harmonic }: { trajectory: string; subject: Subject; harmonic: number },
): RunVectors[] {
  return runs.flatMap((run): RunVectors[] => {
    if (!run.used || run.trajectory !== trajectory) return [];
    const role = run.configuration === baseline ? "baseline" : run.configuration === candidate ? "candidate" : null;
    const split = run.synchronous?.[subject];
    if (role === null || split === undefined) return [];
    const phasors: Partial<Record<Axis, Phasor>> = {};
    for (const axis of axes) {
      const found = split[axis].harmonics.find(({ k }) => k === harmonic);
      if (found === undefined) return [];
      phasors[axis] = phasorOf(found);
    }
    return [{ run: run.id, role, phasors: phasors as Record<Axis, Phasor> }];
  });
}
