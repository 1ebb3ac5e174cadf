import type { PointTrack, PoseTrack } from "../foundation/tracks.ts";

/** One column of a track at other instants, linear between its points; NaN outside the track, and where it holds NaN. */
export function sampleColumn(source: Float64Array, column: Float64Array, times: Float64Array, shift = 0): Float64Array {
  const n = times.length;
  const out = new Float64Array(n);
  const last = source.length - 1;
  const first = last < 0 ? Number.POSITIVE_INFINITY : source[0]!;
  const end = last < 0 ? Number.NEGATIVE_INFINITY : source[last]!;
  let k = 0;
  for (let i = 0; i < n; i++) {
    const t = times[i]! + shift;
    if (!(t >= first && t <= end)) {
      out[i] = Number.NaN;
      continue;
    }
    while (k < last && source[k + 1]! <= t) k++;
    const a = column[k]!;
    // on a point itself its neighbour does not count, be it NaN
    out[i] = t === source[k] ? a : a + ((t - source[k]!) / (source[k + 1]! - source[k]!)) * (column[k + 1]! - a);
  }
  return out;
}

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
  const of = (column: Float64Array): Float64Array => sampleColumn(track.t, column, times, shift);
  return { x: of(track.x), y: of(track.y), z: of(track.z) };
}

/**
 * A pose track at other instants: positions linear, attitudes by normalised linear interpolation of quaternions of
 * continuous sign, which differs from slerp by less than angle^3 / 70 for neighbours that close (well below capture noise).
 */
export function samplePoses(track: PoseTrack, times: Float64Array): PoseTrack {
  const of = (column: Float64Array): Float64Array => sampleColumn(track.t, column, times);
  const out = {
    t: times,
    x: of(track.x),
    y: of(track.y),
    z: of(track.z),
    qx: of(track.qx),
    qy: of(track.qy),
    qz: of(track.qz),
    qw: of(track.qw),
  };
  const { qx, qy, qz, qw } = out;
  for (let i = 0; i < times.length; i++) {
    const scale = 1 / Math.sqrt(qx[i]! * qx[i]! + qy[i]! * qy[i]! + qz[i]! * qz[i]! + qw[i]! * qw[i]!);
    qx[i]! *= scale;
    qy[i]! *= scale;
    qz[i]! *= scale;
    qw[i]! *= scale;
  }
  return out;
}
