import type { PointTrack, PoseTrack } from "../foundation/tracks.ts";

/** Quaternions x y z w of a pose track. */
export type Attitudes = Pick<PoseTrack, "qx" | "qy" | "qz" | "qw">;

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
export function samplePoints(track: PointTrack, times: Float64Array, shift = 0): Points {
  const n = times.length;
  const out = { x: new Float64Array(n), y: new Float64Array(n), z: new Float64Array(n) };
  fillPoints(track, times, shift, out);
  return out;
}

export type Points = Omit<PointTrack, "t">;

function fillPoints(
  { t: source, x, y, z }: PointTrack,
  times: Float64Array,
  shift: number,
  { x: outX, y: outY, z: outZ }: Points,
): void {
  const last = source.length - 1;
  const first = last < 0 ? Number.POSITIVE_INFINITY : source[0]!;
  const end = last < 0 ? Number.NEGATIVE_INFINITY : source[last]!;
  let k = 0;
  // one walk for the three columns: this runs for every sample of a log, several times over
  for (let i = 0; i < times.length; i++) {
    const t = times[i]! + shift;
    if (!(t >= first && t <= end)) {
      outX[i] = outY[i] = outZ[i] = Number.NaN;
      continue;
    }
    while (k < last && source[k + 1]! <= t) k++;
    if (t === source[k]) {
      // on a point itself its neighbour does not count, be it NaN
      outX[i] = x[k]!;
      outY[i] = y[k]!;
      outZ[i] = z[k]!;
      continue;
    }
    const part = (t - source[k]!) / (source[k + 1]! - source[k]!);
    outX[i] = x[k]! + part * (x[k + 1]! - x[k]!);
    outY[i] = y[k]! + part * (y[k + 1]! - y[k]!);
    outZ[i] = z[k]! + part * (z[k + 1]! - z[k]!);
  }
}

/**
 * A pose track at other instants, into columns at least as long as these: positions linear, attitudes by normalised linear
 * interpolation of quaternions of continuous sign, which differs from slerp by less than angle^3 / 70 for neighbours that
 * close (well below capture noise). NaN outside the track, and where it holds NaN.
 */
export function fillPoses(track: PoseTrack, times: Float64Array, out: Points & Attitudes): void {
  fillPoints(track, times, 0, out);
  fillAttitudes(track, times, out);
}

/** A pose track at other instants; see `fillPoses`. */
export function samplePoses(track: PoseTrack, times: Float64Array): PoseTrack {
  return { t: times, ...samplePoints(track, times), ...sampleAttitudes(track, times) };
}

/** The attitudes of a pose track at other instants; see `fillPoses`. */
export function sampleAttitudes(track: PoseTrack, times: Float64Array): Attitudes {
  const make = (): Float64Array => new Float64Array(times.length);
  const out = { qx: make(), qy: make(), qz: make(), qw: make() };
  fillAttitudes(track, times, out);
  return out;
}

function fillAttitudes(
  { t: source, qx, qy, qz, qw }: PoseTrack,
  times: Float64Array,
  { qx: outX, qy: outY, qz: outZ, qw: outW }: Attitudes,
): void {
  const last = source.length - 1;
  const first = last < 0 ? Number.POSITIVE_INFINITY : source[0]!;
  const end = last < 0 ? Number.NEGATIVE_INFINITY : source[last]!;
  let k = 0;
  for (let i = 0; i < times.length; i++) {
    const t = times[i]!;
    if (!(t >= first && t <= end)) {
      outX[i] = outY[i] = outZ[i] = outW[i] = Number.NaN;
      continue;
    }
    while (k < last && source[k + 1]! <= t) k++;
    // on a point itself its neighbour does not count, be it NaN
    const next = t === source[k] ? k : k + 1;
    const part = next === k ? 0 : (t - source[k]!) / (source[next]! - source[k]!);
    const x = qx[k]! + part * (qx[next]! - qx[k]!);
    const y = qy[k]! + part * (qy[next]! - qy[k]!);
    const z = qz[k]! + part * (qz[next]! - qz[k]!);
    const w = qw[k]! + part * (qw[next]! - qw[k]!);
    const scale = 1 / Math.sqrt(x * x + y * y + z * z + w * w);
    outX[i] = x * scale;
    outY[i] = y * scale;
    outZ[i] = z * scale;
    outW[i] = w * scale;
  }
}
