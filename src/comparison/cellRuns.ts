import { type CellAxis, type MeasureId, measureOf } from "../catalogue/measures.ts";
import type { Campaign, Trajectory } from "../contract/campaign.ts";
import type { RunEvaluation } from "../contract/evaluation.ts";
import type { Subject } from "../foundation/signals.ts";

/** Where a cell stands. */
export interface CellPlace {
  readonly trajectory: string;
  readonly subject: Subject;
  readonly axis: CellAxis;
  readonly metric: MeasureId;
}

/** A run with its number in a cell, in the measure's unit (SI). */
export interface CellRun {
  readonly id: string;
  readonly configuration: string;
  readonly block: string | null;
  readonly value: number;
}

/** A measure of a run, or its mean error, along one axis. */
type RunNumber = Omit<CellPlace, "trajectory" | "metric"> & { readonly metric: MeasureId | "bias" };

/**
 * One number of a run: the metric in its cycle window, for a hold in its hold window, in the measure's unit (SI).
 *
 * @returns null where the run does not have it: no such subject, no window, nothing synchronous in a hold
 */
export function cellValue(
  run: RunEvaluation,
  shape: Trajectory["shape"],
  { subject, axis, metric }: RunNumber,
): number | null {
  const window = shape === "hold" ? "hold" : "cycles";
  if (metric === "bias") return run.tracking[window]?.[subject]?.[axis].bias ?? null;
  return measureOf(metric).of(run, { subject, axis, window });
}

/** The runs of a cell that have its number, in the order given; runs of other configurations than the pair are left out. */
export function cellRuns(
  campaign: Campaign,
  runs: readonly RunEvaluation[],
  place: RunNumber & Pick<CellPlace, "trajectory">,
): CellRun[] {
  const { shape } = campaign.trajectories[place.trajectory]!;
  const found: CellRun[] = [];
  for (const run of runs) {
    if (run.trajectory !== place.trajectory) continue;
    if (run.configuration !== campaign.baseline && run.configuration !== campaign.candidate) continue;
    const value = cellValue(run, shape, place);
    if (value !== null) found.push({ id: run.id, configuration: run.configuration, block: run.block, value });
  }
  return found;
}
