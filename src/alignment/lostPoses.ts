import type { Settings } from "../contract/settings.ts";
import type { PoseTrack } from "../foundation/tracks.ts";

/*
 * Poses that the capture system wrote without having seen the body. Each function returns one flag a sample: 1 = lost.
 * The tracks are as logged: sorted by time, any number may be wrong.
 */

/** Poses whose quaternion is zero, not finite or not of unit norm, or whose position is not finite. */
export function findBadAttitudes(raw: PoseTrack, settings: Settings): Uint8Array {
  const flags = new Uint8Array(raw.t.length);
  const { x, y, z, qx, qy, qz, qw } = raw;
  const least = (1 - settings.quaternion_norm_tolerance) ** 2;
  const most = (1 + settings.quaternion_norm_tolerance) ** 2;
  for (let i = 0; i < flags.length; i++) {
    const square = qx[i]! * qx[i]! + qy[i]! * qy[i]! + qz[i]! * qz[i]! + qw[i]! * qw[i]!;
    // 0 where all three are finite
    const finite = (x[i]! + y[i]! + z[i]!) * 0;
    // written so that NaN counts as bad
    if (!(square >= least && square <= most && finite === 0)) flags[i] = 1;
  }
  return flags;
}

/** Whether two poses of equal x are equal altogether. */
function samePose(raw: PoseTrack, i: number, j: number): boolean {
  return (
    raw.y[i] === raw.y[j] &&
    raw.z[i] === raw.z[j] &&
    raw.qx[i] === raw.qx[j] &&
    raw.qy[i] === raw.qy[j] &&
    raw.qz[i] === raw.qz[j] &&
    raw.qw[i] === raw.qw[j]
  );
}

/** All but the first of at least `frozen_poses` identical poses in a row, and every pose exactly at the origin. */
export function findFrozen(raw: PoseTrack, bad: Uint8Array, settings: Settings): Uint8Array {
  const n = raw.t.length;
  const flags = new Uint8Array(n);
  const { x, y, z } = raw;
  let start = 0;
  for (let i = 1; i <= n; i++) {
    if (i < n && x[i] === x[i - 1] && samePose(raw, i, i - 1)) continue;
    if (i - start >= settings.frozen_poses) flags.fill(1, start + 1, i);
    start = i;
  }
  for (let i = 0; i < n; i++) {
    if (x[i] === 0 && y[i] === 0 && z[i] === 0) flags[i] = 1;
    if (bad[i] === 1) flags[i] = 0;
  }
  return flags;
}

/** Single-precision logs round at 6e-8 of the value (and a nanometre near 0); real noise is a hundred times larger. */
const roundingAllowance = 2e-7;

/** Whether a pose lies on the line between its neighbours, in time or in number, all three coordinates alike, and moves. */
function isBetweenNeighbours(raw: PoseTrack, i: number, fraction: number): boolean {
  let byTime = true;
  let byNumber = true;
  let moved = false;
  for (const column of [raw.x, raw.y, raw.z]) {
    const a = column[i - 1]!;
    const b = column[i + 1]!;
    const tolerance = roundingAllowance * (Math.abs(a) + 5e-3);
    if (Math.abs(column[i]! - (a + fraction * (b - a))) > tolerance) byTime = false;
    if (Math.abs(column[i]! - 0.5 * (a + b)) > tolerance) byNumber = false;
    if (Math.abs(b - a) > 4 * tolerance) moved = true;
  }
  return (byTime || byNumber) && moved;
}

/** Interior samples of stretches on which every sample is the mean of its neighbours, in time or in number, but moving. */
export function findInterpolated(
  raw: PoseTrack,
  interval: number,
  bad: Uint8Array,
  frozen: Uint8Array,
  settings: Settings,
): Uint8Array {
  const n = raw.t.length;
  const flags = new Uint8Array(n);
  const straight = new Uint8Array(n);
  const { t, x } = raw;
  for (let i = 1; i + 1 < n; i++) {
    const span = t[i + 1]! - t[i - 1]!;
    const fraction = (t[i]! - t[i - 1]!) / span;
    const a = x[i - 1]!;
    const b = x[i + 1]!;
    const tolerance = roundingAllowance * (Math.abs(a) + 5e-3);
    // x alone rules out nearly every sample that was measured
    if (Math.abs(x[i]! - 0.5 * (a + b)) > tolerance && Math.abs(x[i]! - (a + fraction * (b - a))) > tolerance) continue;
    if (span > 4 * interval || bad[i]! | frozen[i]! | bad[i - 1]! | bad[i + 1]!) continue;
    if (isBetweenNeighbours(raw, i, fraction)) straight[i] = 1;
  }
  let start = -1;
  for (let i = 0; i <= n; i++) {
    if (i < n && straight[i] === 1) {
      if (start < 0) start = i;
    } else if (start >= 0) {
      if (i - start >= settings.interpolated_poses) flags.fill(1, start, i);
      start = -1;
    }
  }
  return flags;
}
