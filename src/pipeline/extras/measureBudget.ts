import type { AlignedRun } from "../../alignment/alignRun.ts";
import { fillPoses } from "../../alignment/sampleTrack.ts";
import type { Campaign } from "../../contract/campaign.ts";
import type { BudgetEvaluation } from "../../contract/runExtras.ts";
import type { Settings } from "../../contract/settings.ts";
import { type Axis, axes, type PoseTrack } from "../../foundation/tracks.ts";
import { type AxisColumns, BudgetSums, budgetColumns, splitEffectorError } from "../../metrics/errorBudget.ts";
import { frameParameters, SensitivitySums } from "../../metrics/frameSensitivity.ts";
import { lowerBound } from "../../numeric/sortedColumns.ts";
import { sliceErrors, sliceMeasured } from "../windowSlices.ts";
import { rounded, widest } from "./common.ts";

/** What of the campaign the budget needs. */
export type BudgetFacts = Pick<Campaign, "frames" | "signals">;

/** Samples worked through at a time: the twenty-nine columns of their poses and parts take a megabyte. */
const block = 4096;

/**
 * Error budget of the effector at its own samples, the vehicle's pose brought to them along straight lines; samples
 * without a pose of the vehicle on both sides are left out.
 */
export function measureBudget(
  run: AlignedRun,
  { frames, signals }: BudgetFacts,
  settings: Settings,
): BudgetEvaluation | null {
  const track = run.subjects.effector;
  const place = widest(run);
  if (track === undefined || place === null || run.vehicle === null || run.setpoint === null) return null;
  const armBase = signals.effector_command?.frame === "arm_base" ? frames.armBase.translation : null;
  const uncertainty = {
    length: frames.uncertainty.length ?? settings.frame_length,
    angle: frames.uncertainty.angle ?? settings.frame_angle,
  };
  const measured = sliceMeasured(track, place.window);
  const error = sliceErrors(track, place.window);
  const near = besideSamples(run.vehicle.t, measured.t, settings.effector_neighbour_intervals * run.intervals.vehicle!);
  const room = { vehicle: poseColumns(), setpoint: poseColumns(), tool: columns(), asked: columns() };
  const parts = budgetColumns(block);
  const budget = new BudgetSums();
  const sensitivities = new SensitivitySums({ armBase, uncertainty });
  let n = 0;
  for (let from = 0; from < measured.t.length; from += block) {
    const times = measured.t.subarray(from, from + block);
    fillPoses(around(run.vehicle, times), times, room.vehicle);
    fillPoses(around(run.setpoint, times), times, room.setpoint);
    fillAsked(measured, error, from, times.length, room.tool, room.asked);
    const kept = keepKnown(near.subarray(from, from + block), times.length, room);
    splitEffectorError(room.vehicle, room.setpoint, room.tool, room.asked, kept, parts);
    budget.add(parts, kept);
    sensitivities.add(parts.total, room.vehicle, room.setpoint, parts.lever, kept);
    n += kept;
  }
  if (n < 10) return null;
  const sensitivity = sensitivities.figures();
  const digits = (axis: Axis): BudgetEvaluation["sensitivity"]["x"] => {
    const { rms, sd, means, products, rms_within, ...rest } = sensitivity[axis];
    return {
      ...rest,
      rms: rounded(rms),
      sd: rounded(sd),
      // a mean square is a difference of products: they need more digits than a curve
      means: rounded(means, 10),
      products: rounded(products, 10),
      rms_within: [...rms_within],
    };
  };
  return {
    window: place.name,
    samples: n,
    ...budget.figures(),
    sensitivity: {
      uncertainty,
      parameters: frameParameters(armBase),
      x: digits("x"),
      y: digits("y"),
      z: digits("z"),
    },
  };
}

type Pose = Omit<PoseTrack, "t">;

function columns(): AxisColumns {
  const make = (): Float64Array => new Float64Array(block);
  return { x: make(), y: make(), z: make() };
}

function poseColumns(): Pose {
  const make = (): Float64Array => new Float64Array(block);
  return { ...columns(), qx: make(), qy: make(), qz: make(), qw: make() };
}

/** The part of a track that poses at these instants are made of. */
function around(track: PoseTrack, times: Float64Array): PoseTrack {
  const { t } = track;
  const from = Math.max(0, lowerBound(t, times[0]!) - 1);
  const to = lowerBound(t, times[times.length - 1]!) + 2;
  const cut = (column: Float64Array): Float64Array => column.subarray(from, to);
  return {
    t: cut(t),
    x: cut(track.x),
    y: cut(track.y),
    z: cut(track.z),
    qx: cut(track.qx),
    qy: cut(track.qy),
    qz: cut(track.qz),
    qw: cut(track.qw),
  };
}

/** The tool point as measured and as asked for (measured less error), of `length` samples from `from` on. */
function fillAsked(
  measured: AxisColumns,
  error: AxisColumns,
  from: number,
  length: number,
  tool: AxisColumns,
  asked: AxisColumns,
): void {
  for (const axis of axes) {
    const [whole, off, found, wanted] = [measured[axis], error[axis], tool[axis], asked[axis]];
    for (let i = 0; i < length; i++) {
      found[i] = whole[from + i]!;
      wanted[i] = whole[from + i]! - off[from + i]!;
    }
  }
}

/** Moves the samples that are near the vehicle's and known in every column to the front; returns how many there are. */
function keepKnown(
  near: Uint8Array,
  length: number,
  room: { vehicle: Pose; setpoint: Pose; tool: AxisColumns; asked: AxisColumns },
): number {
  const { vehicle, setpoint } = room;
  const rows = new Uint32Array(length);
  let n = 0;
  for (let i = 0; i < length; i++) {
    if (near[i] === 1 && isKnown(vehicle, i) && isKnown(setpoint, i)) rows[n++] = i;
  }
  if (n === length) return n;
  for (const column of Object.values(room).flatMap((each): Float64Array[] => Object.values(each))) {
    for (let k = 0; k < n; k++) column[k] = column[rows[k]!]!;
  }
  return n;
}

function isKnown(pose: Pose, i: number): boolean {
  return Number.isFinite(pose.x[i]! + pose.y[i]! + pose.z[i]! + pose.qw[i]!);
}

/** 1 where an instant lies on a sample, or between two that are no further apart than `widest` seconds. */
function besideSamples(samples: Float64Array, instants: Float64Array, widestStep: number): Uint8Array {
  const near = new Uint8Array(instants.length);
  let k = 0;
  for (let i = 0; i < instants.length; i++) {
    while (k + 1 < samples.length && samples[k + 1]! <= instants[i]!) k++;
    const within = samples[k]! <= instants[i]! && k + 1 < samples.length && samples[k + 1]! - samples[k]! <= widestStep;
    near[i] = within || samples[k] === instants[i] ? 1 : 0;
  }
  return near;
}
