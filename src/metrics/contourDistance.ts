import { CounterpoiseError } from "../foundation/errors.ts";
import type { PointTrack } from "../foundation/tracks.ts";
import type { Seconds } from "../foundation/units.ts";
import { lowerBound } from "../numeric/lowerBound.ts";

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
 * is the commanded curve, straight between its points; a circle of radius r told at n points a turn lies up to
 * r (1 - cos(pi / n)) inside its arc.
 *
 * Exact, yet few segments are looked at: a point whose distance is d cannot be nearer than D to any part of the path
 * up to d - D along it; a command at rest is looked at once.
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
  const along = lengthAlong(path);
  const best: Foot = { square: 0, x: 0, y: 0, z: 0, at: 0, segment: 0, far: 0 };
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
    search(path, along, sample, best);
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

/** Length of the path up to each of its points, metres; what was not commanded has none. */
function lengthAlong({ t, x, y, z }: PointTrack): Float64Array {
  const along = new Float64Array(t.length);
  for (let k = 1; k < t.length; k++) {
    const dx = x[k]! - x[k - 1]!;
    const dy = y[k]! - y[k - 1]!;
    const dz = z[k]! - z[k - 1]!;
    const step = Math.sqrt(dx * dx + dy * dy + dz * dz);
    along[k] = along[k - 1]! + (Number.isNaN(step) ? 0 : step);
  }
  return along;
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
  /** the sample's distance from the end of the segment looked at last; NaN where nothing was commanded */
  far: number;
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
 * Walks outward from the segment of the sample's own time, and skips what cannot be nearer. The foot of the sample before is
 * looked at first: it is near this one's, and the nearer the first, the more can be skipped.
 */
function search(path: PointTrack, along: Float64Array, sample: Sample, best: Foot): void {
  const { t, x } = path;
  const segments = t.length - 1;
  const own = Math.min(Math.max(lowerBound(t, sample.time) - 1, 0), segments - 1);
  nearestOn(path, best.segment, sample, best, best.segment);
  for (let k = own; k < segments && t[k]! <= sample.to; ) {
    nearestOn(path, k, sample, best, k + 1);
    // not a number where nothing was commanded, and then nothing is skipped
    const reach = best.far - Math.sqrt(best.square);
    const end = along[k + 1]!;
    k++;
    while (k < segments && along[k + 1]! - end <= reach && !Number.isNaN(x[k + 1]!)) k++;
  }
  for (let k = own - 1; k >= 0 && t[k + 1]! >= sample.from; ) {
    nearestOn(path, k, sample, best, k);
    const reach = best.far - Math.sqrt(best.square);
    const end = along[k]!;
    k--;
    while (k >= 0 && end - along[k]! <= reach && !Number.isNaN(x[k]!)) k--;
  }
}

/** Looks at segment k, and how far the path's point `far` is. */
function nearestOn({ t, x, y, z }: PointTrack, k: number, sample: Sample, best: Foot, far: number): void {
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
  const low = Math.max(0, (sample.from - t[k]!) / duration);
  const high = Math.min(1, (sample.to - t[k]!) / duration);
  const part = Math.min(high, Math.max(low, wanted));
  const fx = ox - part * dx;
  const fy = oy - part * dy;
  const fz = oz - part * dz;
  const square = fx * fx + fy * fy + fz * fz;
  if (low <= high && square < best.square + tie) {
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
  const ex = sample.x - x[far]!;
  const ey = sample.y - y[far]!;
  const ez = sample.z - z[far]!;
  best.far = Math.sqrt(ex * ex + ey * ey + ez * ez);
}
