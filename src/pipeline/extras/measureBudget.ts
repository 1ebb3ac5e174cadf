import type { AlignedRun } from "../../alignment/alignRun.ts";
import { samplePoses } from "../../alignment/sampleTrack.ts";
import type { Campaign } from "../../contract/campaign.ts";
import type { BudgetEvaluation } from "../../contract/runExtras.ts";
import type { Settings } from "../../contract/settings.ts";
import type { Axis } from "../../foundation/signals.ts";
import type { PoseTrack } from "../../foundation/tracks.ts";
import { errorBudget, splitEffectorError } from "../../metrics/errorBudget.ts";
import { frameParameters, frameSensitivity } from "../../metrics/frameSensitivity.ts";
import { difference } from "../../numeric/difference.ts";
import { gatherBy } from "../../numeric/gather.ts";
import { sliceErrors, sliceMeasured } from "../windowSlices.ts";
import { rounded, widest } from "./common.ts";

/** What of the campaign the budget needs. */
export type BudgetFacts = Pick<Campaign, "frames" | "signals">;

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
  const measured = sliceMeasured(track, place.window);
  const error = sliceErrors(track, place.window);
  const near = besideSamples(run.vehicle.t, measured.t, settings.effector_neighbour_intervals * run.intervals.vehicle!);
  const vehicleAll = samplePoses(run.vehicle, measured.t);
  const setpointAll = samplePoses(run.setpoint, measured.t);
  const rows = new Uint32Array(measured.t.length);
  let n = 0;
  for (let i = 0; i < rows.length; i++) {
    if (near[i] === 1 && isKnown(vehicleAll, i) && isKnown(setpointAll, i)) rows[n++] = i;
  }
  if (n < 10) return null;
  const kept = gatherBy(rows, n);
  const vehicle = keptPoses(vehicleAll, kept);
  const setpoint = keptPoses(setpointAll, kept);
  const of = (axis: Axis): [Float64Array, Float64Array] => {
    const tool = kept(measured[axis]);
    const off = kept(error[axis]);
    return [tool, difference(tool, off)];
  };
  const [[tx, ax], [ty, ay], [tz, az]] = [of("x"), of("y"), of("z")];
  const parts = splitEffectorError(vehicle, setpoint, { x: tx, y: ty, z: tz }, { x: ax, y: ay, z: az });
  const armBase = signals.effector_command?.frame === "arm_base" ? frames.armBase.translation : null;
  const uncertainty = {
    length: frames.uncertainty.length ?? settings.frame_length,
    angle: frames.uncertainty.angle ?? settings.frame_angle,
  };
  const sensitivity = frameSensitivity(parts.total, vehicle, setpoint, parts.lever, { armBase, uncertainty });
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
    ...errorBudget(parts),
    sensitivity: {
      uncertainty,
      parameters: frameParameters(armBase),
      x: digits("x"),
      y: digits("y"),
      z: digits("z"),
    },
  };
}

function isKnown(pose: PoseTrack, i: number): boolean {
  return Number.isFinite(pose.x[i]! + pose.y[i]! + pose.z[i]! + pose.qw[i]!);
}

function keptPoses(pose: PoseTrack, kept: (column: Float64Array) => Float64Array): PoseTrack {
  const { t, x, y, z, qx, qy, qz, qw } = pose;
  return {
    t: kept(t),
    x: kept(x),
    y: kept(y),
    z: kept(z),
    qx: kept(qx),
    qy: kept(qy),
    qz: kept(qz),
    qw: kept(qw),
  };
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
