import type { PointTrack, PoseTrack } from "../../foundation/tracks.ts";
import { lowerBound } from "../../numeric/sortedColumns.ts";

/**
 * One sight of a motion on one clock: a running integral per axis (turn angle or position), from which mean rates over
 * any interval follow exactly, however the samples are spaced. `breaks[i]` is 1 where nothing is known between sample
 * i-1 and i.
 */
export interface MotionSight {
  /** seconds on the sight's own clock, strictly increasing */
  readonly t: Float64Array;
  readonly integrals: readonly [Float64Array, Float64Array, Float64Array];
  readonly breaks: Uint8Array;
}

/** Integral of the body rate of a captured attitude, rad, body axes: the rotation vector from sample to sample, summed. */
export function sightOfAttitude(pose: PoseTrack, longestStep: number): MotionSight {
  const n = pose.t.length;
  const integrals = [new Float64Array(n), new Float64Array(n), new Float64Array(n)] as const;
  for (let i = 1; i < n; i++) {
    // relative rotation conj(q[i-1]) * q[i], seen from the body
    const ax = pose.qx[i - 1]!;
    const ay = pose.qy[i - 1]!;
    const az = pose.qz[i - 1]!;
    const aw = pose.qw[i - 1]!;
    const bx = pose.qx[i]!;
    const by = pose.qy[i]!;
    const bz = pose.qz[i]!;
    const bw = pose.qw[i]!;
    let w = aw * bw + ax * bx + ay * by + az * bz;
    let x = aw * bx - ax * bw - ay * bz + az * by;
    let y = aw * by + ax * bz - ay * bw - az * bx;
    let z = aw * bz - ax * by + ay * bx - az * bw;
    if (w < 0) {
      w = -w;
      x = -x;
      y = -y;
      z = -z;
    }
    const sine = Math.sqrt(x * x + y * y + z * z);
    const scale = sine < 1e-12 ? 2 : (2 * Math.atan2(sine, w)) / sine;
    integrals[0][i] = integrals[0][i - 1]! + scale * x;
    integrals[1][i] = integrals[1][i - 1]! + scale * y;
    integrals[2][i] = integrals[2][i - 1]! + scale * z;
  }
  return { t: pose.t, integrals, breaks: breaksOf(pose.t, longestStep) };
}

/** Integral of a gyro's rates by the trapezoid rule, rad, body axes. */
export function sightOfRate(
  t: Float64Array,
  rates: readonly [Float64Array, Float64Array, Float64Array],
  longestStep: number,
): MotionSight {
  const integrals = rates.map((rate) => {
    const sum = new Float64Array(t.length);
    for (let i = 1; i < t.length; i++) sum[i] = sum[i - 1]! + 0.5 * (rate[i]! + rate[i - 1]!) * (t[i]! - t[i - 1]!);
    return sum;
  });
  return {
    t,
    integrals: [integrals[0]!, integrals[1]!, integrals[2]!],
    breaks: breaksOf(t, longestStep),
  };
}

/** What a sight tells of the turn about the body's vertical axis alone: all that it has in common with a yaw. */
export function aboutVertical(sight: MotionSight): MotionSight {
  const still = new Float64Array(sight.t.length);
  return { ...sight, integrals: [still, still, sight.integrals[2]] };
}

/** A position is the integral of its own velocity, metres, world axes. */
export function sightOfPosition(track: PointTrack, longestStep: number): MotionSight {
  return { t: track.t, integrals: [track.x, track.y, track.z], breaks: breaksOf(track.t, longestStep) };
}

function breaksOf(t: Float64Array, longestStep: number): Uint8Array {
  const breaks = new Uint8Array(t.length);
  for (let i = 1; i < t.length; i++) breaks[i] = t[i]! - t[i - 1]! > longestStep ? 1 : 0;
  return breaks;
}

/** The part of a sight that lies within a stretch of time, both ends included; the sight itself where all of it does. */
export function sightWithin(sight: MotionSight, from: number, to: number): MotionSight {
  const first = lowerBound(sight.t, from);
  let last = lowerBound(sight.t, to);
  while (last < sight.t.length && sight.t[last]! <= to) last++;
  if (first === 0 && last === sight.t.length) return sight;
  const [x, y, z] = sight.integrals;
  return {
    t: sight.t.subarray(first, last),
    integrals: [x.subarray(first, last), y.subarray(first, last), z.subarray(first, last)],
    breaks: sight.breaks.subarray(first, last),
  };
}
