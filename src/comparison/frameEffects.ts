import type { Campaign } from "../contract/campaign.ts";
import { contrastsOf } from "../contract/campaignParts.ts";
import type { Cell } from "../contract/cell.ts";
import type { RunEvaluation } from "../contract/evaluation.ts";
import type { FrameEffect } from "../contract/reasons.ts";
import type { BudgetEvaluation } from "../contract/runExtras.ts";
import type { Settings } from "../contract/settings.ts";
import type { Axis } from "../foundation/tracks.ts";
import { type CellPlace, type CellRun, cellRuns, familyPlaces, type RunValues, runValues } from "./cellRuns.ts";
import { type VerdictLimits, verdictLimits } from "./decideVerdict.ts";
import { estimateDifference } from "./estimateDifference.ts";
import { frameExtremes, type ShiftedDifference, shiftedDifference, shiftedValue } from "./frames/frameExtremes.ts";
import { holmAmong, testCell, verdictOf } from "./judgeFamily.ts";
import { judgedLooks } from "./looks/payLooks.ts";

/**
 * How the effector's differences would move if tool point and arm base were not where the manifest says: by the same amount in
 * every run, so that what baseline and candidate have in common cancels.
 *
 * A run's error is linear in the parameters, so its mean square is a quadratic form in them (`budget.sensitivity`), and the
 * value of the shifted run is had exactly, not only to first order: for arms of some decimetres the curvature counts, and an
 * axis without bias does not move at all to first order. The difference is the cell's own, within blocks or of means:
 *
 *   difference(shift) = sum over runs of weight x value(shift)
 *
 * `lowest` and `highest` are where it is smallest and largest with every parameter anywhere within its uncertainty; the cell is
 * judged again there with its spread as it then is, the family's other cells kept. `worst` is the greater change of the two;
 * `quadrature` the root of the squares of what each parameter does alone, at the end that moves the difference more,
 * never above `worst`.
 *
 * Cells of which some run has no budget in the window that the cell scores, or a budget of other parameters than the rest, are
 * left out: they would move by fewer runs than they stand on.
 *
 * @param runs   all runs of the evaluation; those with `used` count
 * @param cells  what `compareCampaign` says of the same runs
 * @returns one per effector cell of the family with a difference, where the metric is rms or sd; in the order of the family
 * @source combination: JCGM 100:2008 (GUM), 5.1.2 (quadrature, inputs that do not correlate) and note 1 to 5.2.2 (worst case)
 */
export function frameEffects(
  campaign: Campaign,
  runs: readonly RunEvaluation[],
  cells: readonly Cell[],
  settings: Settings,
): FrameEffect[] {
  const { primary } = campaign;
  if (primary !== "rms" && primary !== "sd") return [];
  const limits = verdictLimits(settings);
  const used = runs.filter((run) => run.used);
  const places = familyPlaces(campaign);
  // the leading pair's stand first
  const entered = contrastsOf(campaign).flatMap((pair) =>
    places.map(
      (place) =>
        (pair === campaign ? cells.find((cell) => isAt(cell, place))?.look?.entered : undefined) ??
        enteredP(pair, used, place, limits),
    ),
  );
  const lookOf = judgedLooks(campaign, limits, entered.length);
  return places.flatMap((place, i): FrameEffect[] => {
    const { axis } = place;
    if (place.subject !== "effector" || axis === "norm") return [];
    const cell = cells.find((other) => other.in_family && isAt(other, place));
    if (cell === undefined || cell.difference === null || cell.verdict === null) return [];
    const frames = frameRuns(campaign, used, { ...place, axis, metric: primary });
    if (frames === null) return [];
    const shifted: ShiftedDifference = {
      limits: frames.limits,
      weights: weightsOf(campaign, frames.runs),
      forms: frames.runs.map(({ form }) => form),
    };
    const none = new Float64Array(frames.limits.length);
    const unshifted = shiftedDifference(shifted, none);
    const alone = frames.limits.map((limit, k) => {
      const [more, less] = [limit, -limit].map((shift) => shiftedDifference(shifted, none.with(k, shift)) - unshifted);
      return Math.abs(more!) >= Math.abs(less!) ? more! : less!;
    });
    const others = Float64Array.from(entered.filter((_, j) => j !== i)).sort();
    const judged = (shift: Float64Array): FrameEffect["lowest"] => {
      // what the budget's samples say of the change, on the value that the cell has
      const moved = columnsOf(campaign, frames.runs, ({ value, form }) =>
        Math.max(0, value + shiftedValue(form, shift) - shiftedValue(form, none)),
      );
      const test = testCell({ runs: moved, margin: cell.smallest_difference, ...lookOf(cell) }, limits);
      const pFamily = holmAmong(test.pEntered, others);
      return { difference: differenceOf(moved), p_family: pFamily, verdict: verdictOf(test, pFamily, limits) };
    };
    let largest = 0;
    for (const [k, change] of alone.entries()) if (Math.abs(change) > Math.abs(alone[largest]!)) largest = k;
    const extremes = frameExtremes(shifted);
    const worst = Math.max(
      ...[extremes.lowest, extremes.highest].map((shift) => Math.abs(shiftedDifference(shifted, shift) - unshifted)),
    );
    return [
      {
        trajectory: place.trajectory,
        axis,
        metric: primary,
        uncertainty: frames.uncertainty,
        difference: cell.difference,
        worst,
        // parts that partly stand for one another may come out above what all together can do
        quadrature: Math.min(worst, Math.hypot(...alone)),
        largest: { parameter: frames.parameters[largest]!, change: alone[largest]! },
        verdict: cell.verdict,
        lowest: judged(extremes.lowest),
        highest: judged(extremes.highest),
      },
    ];
  });
}

/** How much each run's value counts in the cell's difference, which is linear in the values. */
function weightsOf(campaign: Campaign, runs: readonly FrameRun[]): number[] {
  return runs.map((run) => differenceOf(columnsOf(campaign, runs, (other) => (other === run ? 1 : 0))));
}

function isAt(cell: Cell, { trajectory, subject, axis, metric }: CellPlace): boolean {
  return cell.trajectory === trajectory && cell.subject === subject && cell.axis === axis && cell.metric === metric;
}

/** p of a cell as it enters the family. */
function enteredP(campaign: Campaign, used: readonly RunEvaluation[], place: CellPlace, limits: VerdictLimits): number {
  const runs = columnsOf(campaign, cellRuns(campaign, used, place), ({ value }) => value);
  return testCell({ runs, margin: null }, limits).pEntered;
}

function columnsOf<T extends Pick<FrameRun, "block" | "configuration">>(
  campaign: Campaign,
  runs: readonly T[],
  of: (run: T) => number,
): RunValues {
  return runValues(
    runs.map((run) => ({ value: of(run), block: run.block, candidate: run.configuration === campaign.candidate })),
  );
}

/** As the cell takes it; of the plain means where there are too few runs for an estimate. */
function differenceOf(runs: RunValues): number {
  const estimate = estimateDifference(runs);
  if (estimate !== null) return estimate.difference;
  const sums = [0, 0];
  const counts = [0, 0];
  for (const [i, value] of runs.values.entries()) {
    sums[runs.candidate[i]!]! += value;
    counts[runs.candidate[i]!]!++;
  }
  return sums[1]! / counts[1]! - sums[0]! / counts[0]!;
}

/** A run of an effector cell, and how its value moves with the frames' parameters. */
interface FrameRun extends CellRun {
  /**
   * size x size, row by row, symmetric: with d = (1, shift of each parameter) the square of the run's rms (or sd) so shifted
   * is d' form d
   */
  readonly form: Float64Array;
}

/** The runs of an effector cell with the frames' parameters that they share. */
interface FrameRuns {
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
