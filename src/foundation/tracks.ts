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
