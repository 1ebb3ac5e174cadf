import type { Frames } from "../contract/campaign.ts";
import type { Settings } from "../contract/settings.ts";
import type { PointTrack, PoseTrack } from "../foundation/tracks.ts";
import { multiplyQuaternions, rotateVector } from "../numeric/quaternion.ts";
import { gatherBy } from "../numeric/sortedColumns.ts";
import { samplePoints, samplePoses } from "./sampleTrack.ts";
import { mergeTimes } from "./validFraction.ts";

/** What one subject did and what it was asked to do, at the subject's own measured instants, all in one frame. */
export interface SubjectTrack {
  /** instants at which the subject was measured and commanded, seconds since the run's epoch */
  readonly t: Float64Array;
  readonly measured: Columns;
  /** measured minus commanded, metres */
  readonly error: Columns;
  /** the command as a curve, for shifting it in time */
  readonly command: PointTrack;
}

export interface Columns {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly z: Float64Array;
}

/** Error of the body point: measured minus setpoint, world axes. */
export function vehicleTrack(vehicle: PointTrack, setpoint: PoseTrack): SubjectTrack {
  return against(vehicle, setpoint);
}

/**
 * Error of the tool point in the world against what was asked for: setpoint pose o arm base o command, or the command
 * itself where it is in the world. What the vehicle did instead of its setpoint is part of the error.
 *
 * @param tool     measured tool point, world
 * @param command  the effector command in its own frame
 */
export function effectorTrack(
  tool: PointTrack,
  command: PoseTrack,
  setpoint: PoseTrack,
  frame: "world" | "vehicle" | "arm_base",
  frames: Frames,
): SubjectTrack {
  return against(tool, frame === "world" ? command : composeCommand(command, setpoint, frame, frames));
}

/**
 * Error of the tool point relative to the vehicle, in the measured vehicle frame (origin: body point).
 *
 * At vehicle samples whose effector neighbours are no further apart than `effector_neighbour_intervals`; the tool is
 * brought to them linearly, nothing is carried across a gap.
 *
 * @param vehicle           measured body point and attitude, world
 * @param tool              measured tool point, world
 * @param effectorInterval  median interval of the effector's samples, seconds
 */
export function armTrack(
  vehicle: PoseTrack,
  tool: PointTrack,
  command: PoseTrack,
  frame: "world" | "vehicle" | "arm_base",
  frames: Frames,
  effectorInterval: number,
  settings: Settings,
): SubjectTrack {
  const near = withoutWideNeighbours(tool, settings.effector_neighbour_intervals * effectorInterval, vehicle.t);
  const at = samplePoints(tool, vehicle.t);
  const relative = inVehicleFrame(vehicle, { t: vehicle.t, ...at });
  for (let i = 0; i < vehicle.t.length; i++) if (near[i] === 0) relative.x[i] = Number.NaN;
  if (frame === "world") {
    // the command seen from the vehicle as measured: exact at the samples; as a curve it carries the vehicle's motion
    const seen = inVehicleFrame(vehicle, { t: vehicle.t, ...samplePoints(command, vehicle.t) });
    return against({ t: vehicle.t, ...relative }, { t: vehicle.t, ...seen });
  }
  return against({ t: vehicle.t, ...relative }, frame === "vehicle" ? command : inParent(command, frames.armBase));
}

function against(measured: PointTrack, command: PointTrack): SubjectTrack {
  const asked = samplePoints(command, measured.t);
  const rows = new Uint32Array(measured.t.length);
  const n = turnToErrors(asked, measured, rows);
  const kept = gatherBy(rows, n);
  return {
    t: kept(measured.t),
    measured: { x: kept(measured.x), y: kept(measured.y), z: kept(measured.z) },
    error: { x: asked.x.subarray(0, n), y: asked.y.subarray(0, n), z: asked.z.subarray(0, n) },
    command: { t: command.t, x: command.x, y: command.y, z: command.z },
  };
}

/**
 * Puts measured minus asked in the place of what was asked, instants left out that were not measured or not commanded
 * (NaN in any column); returns how many stay, and in `rows` which of what was asked.
 *
 * @param from  the measured row that belongs to the first that was asked
 */
export function turnToErrors({ x, y, z }: Columns, measured: Columns, rows: Uint32Array, from = 0): number {
  const { x: mx, y: my, z: mz } = measured;
  let n = 0;
  for (let i = 0; i < x.length; i++) {
    const ex = mx[from + i]! - x[i]!;
    const ey = my[from + i]! - y[i]!;
    const ez = mz[from + i]! - z[i]!;
    const sum = ex + ey + ez;
    if (sum - sum !== 0) continue;
    x[n] = ex;
    y[n] = ey;
    z[n] = ez;
    rows[n++] = i;
  }
  return n;
}

/** Setpoint pose o arm base o command at the instants of both, world. */
function composeCommand(
  command: PoseTrack,
  setpoint: PoseTrack,
  frame: "vehicle" | "arm_base",
  frames: Frames,
): PointTrack {
  const first = Math.max(command.t[0] ?? 0, setpoint.t[0] ?? 0);
  const last = Math.min(command.t[command.t.length - 1] ?? 0, setpoint.t[setpoint.t.length - 1] ?? 0);
  const t = mergeTimes(command.t, setpoint.t, [first, last]);
  const body = samplePoses(setpoint, t);
  const base =
    frame === "arm_base" ? frames.armBase : { translation: [0, 0, 0] as const, rotation: [0, 0, 0, 1] as const };
  const local = samplePoints(command, t);
  const out = { t, x: new Float64Array(t.length), y: new Float64Array(t.length), z: new Float64Array(t.length) };
  for (let i = 0; i < t.length; i++) {
    const q = [body.qx[i]!, body.qy[i]!, body.qz[i]!, body.qw[i]!] as const;
    const offset = rotateVector(q, base.translation);
    const turned = rotateVector(multiplyQuaternions(q, base.rotation), [local.x[i]!, local.y[i]!, local.z[i]!]);
    out.x[i] = body.x[i]! + offset[0] + turned[0];
    out.y[i] = body.y[i]! + offset[1] + turned[1];
    out.z[i] = body.z[i]! + offset[2] + turned[2];
  }
  return out;
}

function inParent(command: PoseTrack, base: Frames["armBase"]): PointTrack {
  const n = command.t.length;
  const out = { t: command.t, x: new Float64Array(n), y: new Float64Array(n), z: new Float64Array(n) };
  for (let i = 0; i < n; i++) {
    const p = rotateVector(base.rotation, [command.x[i]!, command.y[i]!, command.z[i]!]);
    out.x[i] = p[0] + base.translation[0];
    out.y[i] = p[1] + base.translation[1];
    out.z[i] = p[2] + base.translation[2];
  }
  return out;
}

/** R(q)^T (point - vehicle), written out: this runs once a sample. */
function inVehicleFrame(vehicle: PoseTrack, point: PointTrack): Columns {
  const n = vehicle.t.length;
  const out = { x: new Float64Array(n), y: new Float64Array(n), z: new Float64Array(n) };
  for (let i = 0; i < n; i++) {
    const a = vehicle.qx[i]!;
    const b = vehicle.qy[i]!;
    const c = vehicle.qz[i]!;
    const d = vehicle.qw[i]!;
    const x = point.x[i]! - vehicle.x[i]!;
    const y = point.y[i]! - vehicle.y[i]!;
    const z = point.z[i]! - vehicle.z[i]!;
    // v + 2 w (u x v) + 2 u x (u x v) with u = -(a, b, c)
    const tx = 2 * (c * y - b * z);
    const ty = 2 * (a * z - c * x);
    const tz = 2 * (b * x - a * y);
    out.x[i] = x + d * tx - (b * tz - c * ty);
    out.y[i] = y + d * ty - (c * tx - a * tz);
    out.z[i] = z + d * tz - (a * ty - b * tx);
  }
  return out;
}

/** 1 where the samples of `track` on both sides of an instant are no further apart than `widest` seconds. */
function withoutWideNeighbours(track: PointTrack, widest: number, times: Float64Array): Uint8Array {
  const near = new Uint8Array(times.length);
  let k = 0;
  for (let i = 0; i < times.length; i++) {
    while (k + 1 < track.t.length && track.t[k + 1]! < times[i]!) k++;
    const onSample = track.t[k] === times[i] || track.t[k + 1] === times[i];
    const between = track.t[k]! <= times[i]! && k + 1 < track.t.length && track.t[k + 1]! - track.t[k]! <= widest;
    near[i] = onSample || between ? 1 : 0;
  }
  return near;
}
