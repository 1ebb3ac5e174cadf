import type { PointTrack, Window } from "../foundation/tracks.ts";
import type { Seconds } from "../foundation/units.ts";
import { lowerBound } from "../numeric/sortedColumns.ts";
import type { CycleValues } from "./pathAccuracy.ts";

/** As `CycleValues`, with the instants at which the planes were crossed, seconds, and the path's direction at each point. */
export interface Crossings extends CycleValues {
  readonly t: Float64Array;
  /** `points` unit vectors; NaN where the path has no direction */
  readonly along: Pick<PointTrack, "x" | "y" | "z">;
}

export interface CrossingOptions {
  /** points per cycle, equally spaced in phase */
  readonly points: number;
  /** how far before and after its commanded instant a crossing is looked for, seconds */
  readonly window: Seconds;
  /** longest step between two samples across which a crossing is believed, seconds */
  readonly longestStep: Seconds;
  /** points where the command is slower than this share of its mean speed have no direction: left out */
  readonly slowest: number;
}

/**
 * Where each cycle crosses the planes normal to the commanded path: attained minus commanded position in each plane.
 *
 * The planes go through each cycle's own commanded point and share their direction over the cycles. The crossing is the one forward along the path next to the commanded instant, within the window that keeps self-crossing
 * paths apart; linear between samples. No crossing (the motion does not reach the plane, or a gap hides it): NaN.
 *
 * @param t         n instants, seconds, increasing
 * @param measured  n positions, metres
 * @param command   the commanded curve over the cycles
 * @param cycles    start and end of each cycle
 */
export function planeCrossings(
  t: Float64Array,
  measured: Pick<PointTrack, "x" | "y" | "z">,
  command: PointTrack,
  cycles: readonly Window[],
  options: CrossingOptions,
): Crossings {
  const { points, window, longestStep, slowest } = options;
  const make = (): Float64Array => new Float64Array(cycles.length * points).fill(Number.NaN);
  const off = { t: make(), x: make(), y: make(), z: make() };
  const normals = planeNormals(command, cycles, points);
  const usual = normals.reduce((sum, { length }) => sum + (Number.isFinite(length) ? length : 0), 0) / points;
  cycles.forEach(([from, to], c) => {
    normals.forEach(({ d, length }, p) => {
      if (!(length > slowest * usual)) return;
      const at = from + ((to - from) * (p + 0.5)) / points;
      const origin = pointAt(command, at);
      const ahead = (i: number): number =>
        (measured.x[i]! - origin[0]) * d[0] + (measured.y[i]! - origin[1]) * d[1] + (measured.z[i]! - origin[2]) * d[2];
      const i = crossingNear(t, ahead, at, window, longestStep);
      if (i === null) return;
      const before = ahead(i - 1);
      const part = before / (before - ahead(i));
      const between = (column: Float64Array): number => column[i - 1]! + part * (column[i]! - column[i - 1]!);
      const k = c * points + p;
      off.t[k] = between(t);
      off.x[k] = between(measured.x) - origin[0];
      off.y[k] = between(measured.y) - origin[1];
      off.z[k] = between(measured.z) - origin[2];
    });
  });
  const along = (k: 0 | 1 | 2): Float64Array =>
    Float64Array.from(normals, ({ d, length }) => (length > slowest * usual ? d[k] / length : Number.NaN));
  return { cycles: cycles.length, points, ...off, along: { x: along(0), y: along(1), z: along(2) } };
}

/**
 * Direction of the command at each point, over a point's share of the phase, summed over the cycles: one plane for all of
 * them, which a command given in straight pieces would otherwise tilt from cycle to cycle.
 */
function planeNormals(
  command: PointTrack,
  cycles: readonly Window[],
  points: number,
): { readonly d: readonly [number, number, number]; readonly length: number }[] {
  return Array.from({ length: points }, (_, p) => {
    const d: [number, number, number] = [0, 0, 0];
    for (const [from, to] of cycles) {
      const a = pointAt(command, from + ((to - from) * p) / points);
      const b = pointAt(command, from + ((to - from) * (p + 1)) / points);
      for (let k = 0; k < 3; k++) d[k]! += b[k]! - a[k]!;
    }
    return { d, length: Math.hypot(...d) };
  });
}

/** Index of the sample that is first beyond the plane, at the forward crossing next to an instant; null where there is none. */
function crossingNear(
  t: Float64Array,
  ahead: (index: number) => number,
  at: Seconds,
  window: Seconds,
  longestStep: Seconds,
): number | null {
  let i = Math.min(lowerBound(t, at), t.length - 1);
  if (i < 1) return null;
  if (ahead(i) < 0) {
    do i++;
    while (i < t.length && t[i]! <= at + window && ahead(i) < 0);
    if (i >= t.length || t[i]! > at + window) return null;
  } else {
    while (i > 0 && t[i - 1]! >= at - window && ahead(i - 1) >= 0) i--;
    if (i === 0 || t[i - 1]! < at - window) return null;
  }
  return t[i]! - t[i - 1]! <= longestStep ? i : null;
}

/** The curve at an instant, linear between its points; NaN outside it. */
function pointAt({ t, x, y, z }: PointTrack, at: Seconds): readonly [number, number, number] {
  const k = lowerBound(t, at);
  if (k >= t.length || (k === 0 && t[0]! > at)) return [Number.NaN, Number.NaN, Number.NaN];
  if (k === 0 || t[k] === at) return [x[k]!, y[k]!, z[k]!];
  const part = (at - t[k - 1]!) / (t[k]! - t[k - 1]!);
  const between = (column: Float64Array): number => column[k - 1]! + part * (column[k]! - column[k - 1]!);
  return [between(x), between(y), between(z)];
}
