import type { Settings } from "../contract/settings.ts";
import type { PoseTrack } from "../foundation/tracks.ts";
import { quaternionNorm } from "./quaternionNorm.ts";

/*
 * Poses that the capture system wrote without having seen the body. Each function returns one flag a sample: 1 = lost.
 * The tracks are as logged: sorted by time, any number may be wrong.
 */

/** Poses whose quaternion is zero, not finite or not of unit norm, or whose position is not finite. */
export function findBadAttitudes(raw: PoseTrack, settings: Settings): Uint8Array {
  const flags = new Uint8Array(raw.t.length);
  for (let i = 0; i < flags.length; i++) {
    const norm = quaternionNorm(raw, i);
    const finite = Number.isFinite(raw.x[i]! + raw.y[i]! + raw.z[i]!);
    // written so that NaN counts as bad
    if (!(Math.abs(norm - 1) <= settings.quaternion_norm_tolerance) || !finite) flags[i] = 1;
  }
  return flags;
}

function samePose(raw: PoseTrack, i: number, j: number): boolean {
  return (
    raw.x[i] === raw.x[j] &&
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
  let start = 0;
  for (let i = 1; i <= n; i++) {
    if (i < n && samePose(raw, i, i - 1)) continue;
    if (i - start >= settings.frozen_poses) flags.fill(1, start + 1, i);
    start = i;
  }
  for (let i = 0; i < n; i++) {
    if (raw.x[i] === 0 && raw.y[i] === 0 && raw.z[i] === 0) flags[i] = 1;
    if (bad[i] === 1) flags[i] = 0;
  }
  return flags;
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
  const columns = [raw.x, raw.y, raw.z];
  for (let i = 1; i + 1 < n; i++) {
    if (bad[i]! | frozen[i]! | bad[i - 1]! | bad[i + 1]!) continue;
    const span = raw.t[i + 1]! - raw.t[i - 1]!;
    if (span > 4 * interval) continue;
    const fraction = (raw.t[i]! - raw.t[i - 1]!) / span;
    let byTime = true;
    let byNumber = true;
    let moved = false;
    for (const column of columns) {
      const a = column[i - 1]!;
      const b = column[i + 1]!;
      // single-precision logs round at 6e-8 of the value; real noise is a hundred times larger
      const tolerance = 1e-9 + 2e-7 * Math.abs(a);
      if (Math.abs(column[i]! - (a + fraction * (b - a))) > tolerance) byTime = false;
      if (Math.abs(column[i]! - 0.5 * (a + b)) > tolerance) byNumber = false;
      if (Math.abs(b - a) > 4 * tolerance) moved = true;
    }
    if ((byTime || byNumber) && moved) straight[i] = 1;
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
