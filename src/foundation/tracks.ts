import type { Seconds } from "./units.ts";

/** Positions of one point: columns of equal length, `t` in seconds since the run's epoch, metres. A gap is a gap in `t`. */
export interface PointTrack {
  readonly t: Float64Array;
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly z: Float64Array;
}

/** A point track with attitude: quaternions x y z w, unit norm, continuous in sign, body to parent. */
export interface PoseTrack extends PointTrack {
  readonly qx: Float64Array;
  readonly qy: Float64Array;
  readonly qz: Float64Array;
  readonly qw: Float64Array;
}

/** A stretch of time, seconds since the run's epoch: [from, to). What falls on its end belongs to the next. */
export type Window = readonly [Seconds, Seconds];

/** The closed list of signals a manifest may name (design, section 4). */
export const signalNames = [
  "vehicle_pose",
  "effector_pose",
  "vehicle_setpoint",
  "effector_command",
  "arm_phase",
  "vehicle_rate",
  "vehicle_estimate",
  "battery",
  "motors",
  "arm_effort",
] as const;
export type SignalName = (typeof signalNames)[number];

export const subjects = ["vehicle", "effector", "arm"] as const;
/** What is judged: body point in the world, tool point in the world, tool point relative to the vehicle. */
export type Subject = (typeof subjects)[number];

export const axes = ["x", "y", "z"] as const;
export type Axis = (typeof axes)[number];
