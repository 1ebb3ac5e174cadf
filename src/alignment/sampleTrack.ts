import type { PointTrack, PoseTrack } from "../foundation/tracks.ts";

/**
 * A point track at other instants, linear between its points. NaN outside it, and where it holds NaN.
 *
 * @param times  seconds, not decreasing
 * @param shift  seconds added to each instant before looking it up
 */
export function samplePoints(
  track: PointTrack,
  times: Float64Array,
  shift = 0,
): { x: Float64Array; y: Float64Array; z: Float64Array } {
  const n = times.length;
  const x = new Float64Array(n).fill(Number.NaN);
  const y = new Float64Array(n).fill(Number.NaN);
  const z = new Float64Array(n).fill(Number.NaN);
  walk(track.t, times, shift, (i, k, f) => {
    x[i] = blend(track.x, k, f);
    y[i] = blend(track.y, k, f);
    z[i] = blend(track.z, k, f);
  });
  return { x, y, z };
}

/**
 * A pose track at other instants: positions linear, attitudes by normalised linear interpolation of quaternions of
 * continuous sign, which differs from slerp by less than angle^3 / 70 for neighbours that close (well below capture noise).
 */
export function samplePoses(track: PoseTrack, times: Float64Array): PoseTrack {
  const n = times.length;
  const make = (): Float64Array => new Float64Array(n).fill(Number.NaN);
  const out = { t: times, x: make(), y: make(), z: make(), qx: make(), qy: make(), qz: make(), qw: make() };
  walk(track.t, times, 0, (i, k, f) => {
    out.x[i] = blend(track.x, k, f);
    out.y[i] = blend(track.y, k, f);
    out.z[i] = blend(track.z, k, f);
    const a = blend(track.qx, k, f);
    const b = blend(track.qy, k, f);
    const c = blend(track.qz, k, f);
    const d = blend(track.qw, k, f);
    const norm = Math.hypot(a, b, c, d);
    out.qx[i] = a / norm;
    out.qy[i] = b / norm;
    out.qz[i] = c / norm;
    out.qw[i] = d / norm;
  });
  return out;
}

function blend(column: Float64Array, k: number, f: number): number {
  const a = column[k]!;
  return f === 0 ? a : a + f * (column[k + 1]! - a);
}

/** Calls back with the interval and the fraction inside it for every instant the source covers. */
function walk(
  source: Float64Array,
  times: Float64Array,
  shift: number,
  visit: (i: number, k: number, f: number) => void,
): void {
  const last = source.length - 1;
  if (last < 0) return;
  let k = 0;
  for (let i = 0; i < times.length; i++) {
    const t = times[i]! + shift;
    if (t < source[0]! || t > source[last]!) continue;
    while (k < last && source[k + 1]! <= t) k++;
    if (k === last) visit(i, k, 0);
    else visit(i, k, (t - source[k]!) / (source[k + 1]! - source[k]!));
  }
}
