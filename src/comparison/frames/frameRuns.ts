import type { Campaign } from "../../contract/campaign.ts";
import type { RunEvaluation } from "../../contract/evaluation.ts";
import type { FrameEffect } from "../../contract/reasons.ts";
import type { BudgetEvaluation } from "../../contract/runExtras.ts";
import type { Axis } from "../../foundation/tracks.ts";
import { type CellPlace, type CellRun, cellRuns } from "../cellRuns.ts";

/** A run of an effector cell, and how its value moves with the frames' parameters. */
export interface FrameRun extends CellRun {
  /**
   * size x size, row by row, symmetric: with d = (1, shift of each parameter) the square of the run's rms (or sd) so shifted
   * is d' form d
   */
  readonly form: Float64Array;
}

/** The runs of an effector cell with the frames' parameters that they share. */
export interface FrameRuns {
  readonly runs: readonly FrameRun[];
  /** such as `tool_point.x`, `arm_base_turn.z` */
  readonly parameters: readonly string[];
  /** by how much each parameter may be off, metres or radians */
  readonly limits: readonly number[];
  readonly uncertainty: FrameEffect["uncertainty"];
}

type Sensitivity = BudgetEvaluation["sensitivity"];

/**
 * @param used  runs that count
 * @returns null where the cell has no runs, a run of it has no budget in the window that the cell scores, or the runs'
 *          parameters or uncertainties are not the same
 */
export function frameRuns(
  campaign: Campaign,
  used: readonly RunEvaluation[],
  place: CellPlace & { readonly axis: Axis; readonly metric: "rms" | "sd" },
): FrameRuns | null {
  const window = campaign.trajectories[place.trajectory]!.shape === "hold" ? "hold" : "cycles";
  const budgets = new Map(used.map(({ id, budget }) => [id, budget]));
  const runs: FrameRun[] = [];
  let shared: Sensitivity | null = null;
  for (const run of cellRuns(campaign, used, place)) {
    const budget = budgets.get(run.id) ?? null;
    if (budget === null || budget.window !== window) return null;
    const { sensitivity, samples } = budget;
    shared ??= sensitivity;
    if (!alike(sensitivity, shared)) return null;
    runs.push({ ...run, form: formOf(sensitivity[place.axis], place.metric, samples) });
  }
  if (shared === null) return null;
  const { parameters, uncertainty } = shared;
  // turns are in radians, all else in metres
  const limits = parameters.map((name) => (name.includes("_turn.") ? uncertainty.angle : uncertainty.length));
  return { runs, parameters, limits, uncertainty };
}

function alike(one: Sensitivity, other: Sensitivity): boolean {
  return (
    one.parameters.join() === other.parameters.join() &&
    one.uncertainty.length === other.uncertainty.length &&
    one.uncertainty.angle === other.uncertainty.angle
  );
}

/** rms^2 = d' P d; sd^2 = (d' P d - (d' m)^2) n/(n - 1). */
function formOf({ means, products }: Sensitivity["x"], metric: "rms" | "sd", samples: number): Float64Array {
  const size = means.length;
  const form = new Float64Array(size * size);
  for (let a = 0, at = 0; a < size; a++) {
    for (let b = a; b < size; b++, at++) {
      const own =
        metric === "rms"
          ? products[at]!
          : ((products[at]! - means[a]! * means[b]!) * samples) / Math.max(1, samples - 1);
      form[a * size + b] = own;
      form[b * size + a] = own;
    }
  }
  return form;
}
