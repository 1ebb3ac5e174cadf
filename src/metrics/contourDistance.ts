import { CounterpoiseError } from "../foundation/errors.ts";
import type { PointTrack } from "../foundation/tracks.ts";
import type { Seconds } from "../foundation/units.ts";
import { lowerBound } from "../numeric/sortedColumns.ts";

/** Where the nearest point of the commanded path lies, at n instants. */
export interface Contour {
  /** from the nearest point of the path to the measured one, metres */
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly z: Float64Array;
  readonly distance: Float64Array;
  /** how long ago the path was commanded to be there, seconds: positive where the motion comes late */
  readonly behind: Float64Array;
  /** samples whose nearest point is the end of what was searched: the path may come nearer outside it */
  readonly atEdge: number;
}

/**
 * Contour distance: how far a point is from the path it was told to follow, whenever it was told to be there. What is
 * left of the tracking error when being early or late is forgiven.
 *
 * Only the part of the path commanded within `window` seconds of the sample counts, so that a path that crosses itself,
 * or runs to and fro on one line, is not mixed up with itself: a quarter of the period keeps half-cycles apart. The path
 * is the commanded curve, straight between its points; a circle of radius r given at n points a turn lies up to
 * r (1 - cos(pi / n)) inside its arc.
 *
 * Exact, yet few segments are looked at: where a point of the path is d away, no part of the path up to d - D along from it
 * is nearer than D.
 *
 * @param t         n instants, seconds, increasing, within the command's time
 * @param measured  n positions, metres, no NaN
 * @param path      the command; NaN where nothing was commanded
 * @param options.window  seconds before and after the sample
 * @throws CounterpoiseError  code `no-path`: nothing was commanded within the window of a sample
 */
export function contourDistance(
  t: Float64Array,
  measured: Pick<PointTrack, "x" | "y" | "z">,
  path: PointTrack,
  options: { window: Seconds },
): Contour {
  const n = t.length;
  const make = (): Float64Array => new Float64Array(n);
  const out = { x: make(), y: make(), z: make(), distance: make(), behind: make() };
  const pieces = piecesOf(path);
  const best: Foot = { square: 0, x: 0, y: 0, z: 0, at: 0, segment: 0 };
  const sample: Sample = { time: 0, from: 0, to: 0, x: 0, y: 0, z: 0 };
  let atEdge = 0;
  for (let i = 0; i < n; i++) {
    sample.time = t[i]!;
    sample.from = t[i]! - options.window;
    sample.to = t[i]! + options.window;
    sample.x = measured.x[i]!;
    sample.y = measured.y[i]!;
    sample.z = measured.z[i]!;
    best.square = Number.POSITIVE_INFINITY;
    search(path, pieces, sample, best);
    if (best.square === Number.POSITIVE_INFINITY) {
      throw new CounterpoiseError(
        "no-path",
        `contourDistance found no command within ${options.window} s of ${t[i]} s, expected one at every sample`,
        { hint: "leave out samples at which nothing was commanded" },
      );
    }
    out.x[i] = measured.x[i]! - best.x;
    out.y[i] = measured.y[i]! - best.y;
    out.z[i] = measured.z[i]! - best.z;
    out.distance[i] = Math.sqrt(best.square);
    out.behind[i] = t[i]! - best.at;
    if (Math.abs(out.behind[i]!) >= options.window * (1 - 1e-9)) atEdge++;
  }
  return { ...out, atEdge };
}

/** A path in pieces: between two points of one piece it was commanded throughout. */
interface Pieces {
  /** length of the piece up to each of its points, metres */
  readonly along: Float64Array;
  /** first and last point of the piece that a point belongs to; of a point of which nothing was commanded itself */
  readonly first: Uint32Array;
  readonly last: Uint32Array;
}

function piecesOf({ t, x, y, z }: PointTrack): Pieces {
  const n = t.length;
  const along = new Float64Array(n);
  const first = new Uint32Array(n);
  const last = new Uint32Array(n);
  for (let k = 1; k < n; k++) {
    const dx = x[k]! - x[k - 1]!;
    const dy = y[k]! - y[k - 1]!;
    const dz = z[k]! - z[k - 1]!;
    const step = Math.sqrt(dx * dx + dy * dy + dz * dz);
    const goesOn = !Number.isNaN(step);
    along[k] = goesOn ? along[k - 1]! + step : 0;
    first[k] = goesOn ? first[k - 1]! : k;
  }
  for (let k = n - 1; k >= 0; k--) last[k] = k + 1 < n && first[k + 1] === first[k] ? last[k + 1]! : k;
  return { along, first, last };
}

/** Distances whose squares differ by less are alike, square metres: a micrometre in a few millimetres. */
const tie = 1e-9;

interface Foot {
  square: number;
  x: number;
  y: number;
  z: number;
  at: number;
  /** that holds the foot; of the sample before, where a search begins */
  segment: number;
}

/**
 * A sample and the times within which its path is searched. It and the foot stay the same objects for all samples: doubles
 * handed to functions and back, millions of them, would each be put on the heap.
 */
interface Sample {
  time: Seconds;
  from: Seconds;
  to: Seconds;
  x: number;
  y: number;
  z: number;
}

/**
 * Walks outward from the segment that holds the foot of the sample before, which is near this one's: the nearer the first that
 * is looked at, the more can be skipped. What is as near as the best, to a tie, is looked at too; of a rest, the part nearest
 * in time.
 */
function search(path: PointTrack, { along, first, last }: Pieces, sample: Sample, best: Foot): void {
  const { t } = path;
  const segments = t.length - 1;
  const own = Math.min(Math.max(lowerBound(t, sample.time) - 1, 0), segments - 1);
  const before = best.segment;
  const begin = t[before]! <= sample.to && t[before + 1]! >= sample.from ? before : own;
  nearestOn(path, begin, sample, best);
  for (let k = begin + 1; k < segments && t[k]! <= sample.to; ) {
    const piece = last[k]!;
    // at the end of its piece the path goes on with what was not commanded
    if (k === piece) {
      k++;
      continue;
    }
    const reach = distanceTo(path, k, sample) - Math.sqrt(best.square + tie);
    const length = along[k + 1]! - along[k]!;
    const end = length <= reach || length === 0 ? lastUpTo(along, k + 1, piece, along[k]! + Math.max(0, reach)) : k + 1;
    if (!(length <= reach)) nearestOn(path, Math.min(Math.max(own, k), end - 1), sample, best);
    k = end;
  }
  for (let k = begin; k > 0 && t[k]! >= sample.from; ) {
    const piece = first[k]!;
    if (k === piece) {
      k--;
      continue;
    }
    const reach = distanceTo(path, k, sample) - Math.sqrt(best.square + tie);
    const length = along[k]! - along[k - 1]!;
    const end =
      length <= reach || length === 0 ? firstFrom(along, k - 1, piece, along[k]! - Math.max(0, reach)) : k - 1;
    if (!(length <= reach)) nearestOn(path, Math.max(Math.min(own, k - 1), end), sample, best);
    k = end;
  }
}

/** Index of the last value up to `limit`, of values that never fall from `k` to `end`, looked for in steps that double. */
function lastUpTo(values: Float64Array, k: number, end: number, limit: number): number {
  let at = k;
  let step = 1;
  while (at + step <= end && values[at + step]! <= limit) {
    at += step;
    step *= 2;
  }
  for (step >>= 1; step > 0; step >>= 1) if (at + step <= end && values[at + step]! <= limit) at += step;
  return at;
}

/** Index of the first value from `limit` on, of values that never fall from `end` to `k`, looked for downward so. */
function firstFrom(values: Float64Array, k: number, end: number, limit: number): number {
  let at = k;
  let step = 1;
  while (at - step >= end && values[at - step]! >= limit) {
    at -= step;
    step *= 2;
  }
  for (step >>= 1; step > 0; step >>= 1) if (at - step >= end && values[at - step]! >= limit) at -= step;
  return at;
}

/** How far the path's point k is from the sample, metres; NaN where nothing was commanded. */
function distanceTo({ x, y, z }: PointTrack, k: number, sample: Sample): number {
  const dx = sample.x - x[k]!;
  const dy = sample.y - y[k]!;
  const dz = sample.z - z[k]!;
  return Math.sqrt(dx * dx + dy * dy + dz * dz);
}

/** Looks at segment k. */
function nearestOn({ t, x, y, z }: PointTrack, k: number, sample: Sample, best: Foot): void {
  const { time } = sample;
  const dx = x[k + 1]! - x[k]!;
  const dy = y[k + 1]! - y[k]!;
  const dz = z[k + 1]! - z[k]!;
  const ox = sample.x - x[k]!;
  const oy = sample.y - y[k]!;
  const oz = sample.z - z[k]!;
  const length = dx * dx + dy * dy + dz * dz;
  const duration = t[k + 1]! - t[k]!;
  // a command at rest is nearest now
  const wanted = length > 0 ? (ox * dx + oy * dy + oz * dz) / length : (time - t[k]!) / duration;
  const low = t[k]! < sample.from ? (sample.from - t[k]!) / duration : 0;
  const high = t[k + 1]! > sample.to ? (sample.to - t[k]!) / duration : 1;
  if (low > high) return;
  const part = Math.min(high, Math.max(low, wanted));
  const fx = ox - part * dx;
  const fy = oy - part * dy;
  const fz = oz - part * dz;
  const square = fx * fx + fy * fy + fz * fz;
  if (!(square < best.square + tie)) return;
  const at = t[k]! + part * duration;
  const nearer = square < best.square;
  // a path that comes back the way it went is as near on its way back: then the nearer in time
  if (square < best.square - tie || Math.abs(time - at) < Math.abs(time - best.at)) best.at = at;
  if (nearer) {
    best.segment = k;
    best.square = square;
    best.x = sample.x - fx;
    best.y = sample.y - fy;
    best.z = sample.z - fz;
  }
}
