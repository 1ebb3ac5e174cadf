import type { PointTrack } from "../foundation/tracks.ts";
import type { MetresPerSecond, Seconds } from "../foundation/units.ts";
import { lowerBound } from "../numeric/sortedColumns.ts";

/** Speed along the path. */
export interface PathVelocity {
  readonly cycles: number;
  /** mean commanded speed, m/s */
  readonly commanded: MetresPerSecond;
  /** AV: mean attained speed over mean commanded speed, less 1 (the standard prints it in per cent) */
  readonly accuracy: number;
  /** RV: three sd (n - 1) of the cycles' mean speeds over the commanded speed; null for a single cycle */
  readonly repeatability: number | null;
  /** FV: greatest of the cycles' ranges of attained minus commanded speed, m/s */
  readonly fluctuation: MetresPerSecond;
}

/**
 * Path velocity accuracy, repeatability and fluctuation after ISO 9283:1998.
 *
 *   AV = (mean v - vc) / vc,   RV = 3 sd(cycle means) / vc,   FV = max over cycles of (greatest v - least v)
 *
 * At points of the path, whenever they are reached: being late is no error of speed. The standard commands one speed. Here the command may change speed along the path (a line there and back): vc is its
 * mean, and fluctuation is that of attained minus commanded speed, which is the standard's where the command is steady.
 *
 * @param attained   speeds at the points of each cycle, m/s; NaN: not known there
 * @param commanded  of the same points
 * @returns null where a cycle has no speed, or nothing moves
 * @source ISO 9283:1998 (the formulas from memory of it)
 */
export function pathVelocity(
  attained: readonly Float64Array[],
  commanded: readonly Float64Array[],
): PathVelocity | null {
  const means: number[] = [];
  let asked = 0;
  let fluctuation = 0;
  for (let c = 0; c < attained.length; c++) {
    let [sum, sumAsked, n] = [0, 0, 0];
    let [low, high] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
    attained[c]!.forEach((value, p) => {
      const wanted = commanded[c]![p]!;
      if (!Number.isFinite(value - wanted)) return;
      sum += value;
      sumAsked += wanted;
      n++;
      low = Math.min(low, value - wanted);
      high = Math.max(high, value - wanted);
    });
    if (n === 0) return null;
    means.push(sum / n);
    asked += sumAsked / n / attained.length;
    fluctuation = Math.max(fluctuation, high - low);
  }
  if (!(asked > 0)) return null;
  const mean = means.reduce((sum, value) => sum + value, 0) / means.length;
  const squares = means.reduce((sum, value) => sum + (value - mean) ** 2, 0);
  return {
    cycles: means.length,
    commanded: asked,
    accuracy: (mean - asked) / asked,
    repeatability: means.length > 1 ? (3 * Math.sqrt(squares / (means.length - 1))) / asked : null,
    fluctuation,
  };
}

/**
 * Speed along the path at given instants: the part of the velocity in the path's direction, from the least-squares slope
 * of the positions within half a span on either side. What a wandering vehicle adds across the path is no speed along it. Slopes
 * over 0.1 s of positions with 0.2 mm of noise at 200 Hz have 1.5 mm/s of it; from one sample to the next it would be 57.
 *
 * Turning within the span makes it read low (a circle by (w span)^2 / 40): compare with a command treated alike.
 *
 * @param t  n instants, seconds, increasing
 * @param options.along    unit vectors of the path, one for each instant
 * @param options.span     seconds
 * @param options.longestStep  a step longer than this within the span: NaN
 * @returns m/s, negative against the path's direction; NaN where it has none, the samples do not reach to both ends of
 *   the span, or fewer than 4 are in it
 */
export function pathSpeeds(
  t: Float64Array,
  { x, y, z }: Pick<PointTrack, "x" | "y" | "z">,
  instants: Float64Array,
  options: { along: Pick<PointTrack, "x" | "y" | "z">; span: Seconds; longestStep: Seconds },
): Float64Array {
  return instants.map((at, k) => {
    const from = lowerBound(t, at - options.span / 2);
    const to = lowerBound(t, at + options.span / 2);
    if (to - from < 4) return Number.NaN;
    if (from > 0 && t[from]! - t[from - 1]! > options.longestStep) return Number.NaN;
    if (from === 0 && t[0]! - (at - options.span / 2) > options.longestStep) return Number.NaN;
    if (
      to < t.length
        ? t[to]! - t[to - 1]! > options.longestStep
        : at + options.span / 2 - t[to - 1]! > options.longestStep
    )
      return Number.NaN;
    let sum = 0;
    for (let i = from; i < to; i++) {
      if (i > from && t[i]! - t[i - 1]! > options.longestStep) return Number.NaN;
      sum += t[i]! - at;
    }
    const middle = sum / (to - from);
    let [xx, sx, sy, sz] = [0, 0, 0, 0];
    for (let i = from; i < to; i++) {
      const off = t[i]! - at - middle;
      xx += off * off;
      sx += off * (x[i]! - x[from]!);
      sy += off * (y[i]! - y[from]!);
      sz += off * (z[i]! - z[from]!);
    }
    return (sx * options.along.x[k]! + sy * options.along.y[k]! + sz * options.along.z[k]!) / xx;
  });
}
