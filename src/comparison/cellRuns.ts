import {
  type CellAxis,
  type JudgedIn,
  type MeasureId,
  measureAxes,
  measureIds,
  measureOf,
} from "../catalogue/measures.ts";
import type { Campaign, Trajectory } from "../contract/campaign.ts";
import type { RunEvaluation } from "../contract/evaluation.ts";
import { NotFiniteError } from "../foundation/errors.ts";
import type { Subject } from "../foundation/tracks.ts";

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

/** One number per run of both configurations of a cell: columns of equal length. */
export interface RunValues {
  /** metres */
  readonly values: Float64Array;
  /** 1 where the run flew the candidate, 0 for the baseline */
  readonly candidate: Uint8Array;
  /** number of the block the run belongs to, from 0; runs without a block share one */
  readonly block: Int32Array;
  /** how many blocks there are */
  readonly blocks: number;
}

/** What a run brings to a cell. */
export interface RunValue {
  readonly value: number;
  readonly candidate: boolean;
  readonly block: string | null;
}

/**
 * Columns of a cell's runs, blocks numbered in order of appearance.
 *
 * @throws NotFiniteError  NaN or infinity at index i
 */
export function runValues(runs: readonly RunValue[]): RunValues {
  const names = new Map<string | null, number>();
  const values = new Float64Array(runs.length);
  const candidate = new Uint8Array(runs.length);
  const block = new Int32Array(runs.length);
  for (const [i, run] of runs.entries()) {
    if (!Number.isFinite(run.value)) throw new NotFiniteError("runValues", i, run.value);
    if (!names.has(run.block)) names.set(run.block, names.size);
    values[i] = run.value;
    candidate[i] = run.candidate ? 1 : 0;
    block[i] = names.get(run.block)!;
  }
  return { values, candidate, block, blocks: names.size };
}

/**
 * The declared family: the cells that the manifest names (`family`); where it names none, the primary measure over trajectories x {vehicle, effector} x {x, y, z}, or without the axes where the
 * measure has one number over all of them. It follows from the manifest alone, never from what was flown or found; a
 * trajectory that no one flew is in it.
 *
 * A hold has no cycles, so nothing synchronous to compare: with that primary measure it is no member.
 */
export function familyPlaces(campaign: Campaign): CellPlace[] {
  return places(campaign, hasEffector(campaign) ? ["vehicle", "effector"] : ["vehicle"]).filter((place) =>
    isDeclared(campaign, place),
  );
}

function isDeclared({ primary, family }: Campaign, { metric, trajectory, subject, axis }: CellPlace): boolean {
  if (metric !== primary || subject === "arm") return false;
  return (
    family === undefined ||
    family.some(
      (one) =>
        one.trajectory === trajectory &&
        one.subject === subject &&
        (one.axes === null || axis === "norm" || one.axes.includes(axis)),
    )
  );
}

/** All else that can be compared: the other measures, the arm, and what a declared family leaves out. Shown, without a verdict. */
export function exploratoryPlaces(campaign: Campaign): CellPlace[] {
  const subjects: Subject[] = hasEffector(campaign) ? ["vehicle", "effector", "arm"] : ["vehicle"];
  return places(campaign, subjects).filter((place) => !isDeclared(campaign, place));
}

function hasEffector(campaign: Campaign): boolean {
  return campaign.signals.effector_pose !== undefined && campaign.signals.effector_command !== undefined;
}

function places(campaign: Campaign, subjects: readonly Subject[]): CellPlace[] {
  return Object.entries(campaign.trajectories).flatMap(([trajectory, { shape }]) =>
    measureIds
      .filter((metric) => measureOf(metric).windows.includes(shape === "hold" ? "hold" : "cycles"))
      .flatMap((metric) =>
        subjects
          .filter((subject) => measureOf(metric).subjects.includes(subject))
          .flatMap((subject) => measureAxes(metric).map((axis) => ({ trajectory, subject, axis, metric }))),
      ),
  );
}

/** In which axes each place is judged: those of the heading where it was taken out of the trajectory's runs; the arm's own are the vehicle's. */
export function judgedPlaces(
  runs: readonly Pick<RunEvaluation, "trajectory" | "heading">[],
): (place: Pick<CellPlace, "subject" | "trajectory">) => JudgedIn {
  const turned = new Set(runs.filter(({ heading }) => heading?.taken_out != null).map(({ trajectory }) => trajectory));
  return ({ subject, trajectory }) => (subject === "arm" ? "vehicle" : turned.has(trajectory) ? "heading" : "world");
}
