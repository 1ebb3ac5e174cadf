import { quantileReordering } from "../numeric/descriptive.ts";
import type { Contour } from "./contourDistance.ts";

/** Values at m points of a path in n cycles, cycle after cycle (n m of each); NaN where a cycle gives none. */
export interface CycleValues {
  readonly cycles: number;
  readonly points: number;
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly z: Float64Array;
}

/** Path accuracy and repeatability, metres. */
interface PathFigures {
  /** cycles; the standard has 10 */
  readonly cycles: number;
  /** points of the path that every cycle reached, of those looked at */
  readonly points: number;
  readonly points_of: number;
  /** AT_p: greatest distance of the mean attained path from the commanded one */
  readonly accuracy: number;
  /** RT_p: greatest mean distance from the mean attained path, plus three sd; null for a single cycle */
  readonly repeatability: number | null;
}

/**
 * Path accuracy and path repeatability after ISO 9283:1998.
 *
 * At each point of the path: the attained paths' barycentre over the n cycles, and their distances l from it.
 *
 *   AT_p = max over the points of |barycentre - commanded point|
 *   RT_p = max over the points of (mean of l + 3 sd of l),  sd with n - 1
 *
 * The standard measures n = 10 cycles, robots and not flying arms; figures of another n are not comparable with its.
 * Both are greatest values over the points: they grow with how many there are. A point that some cycle did not reach is
 * left out of both.
 *
 * @param off  attained minus commanded, in the plane normal to the path at that point, metres
 * @returns null where no point was reached by every cycle
 * @source ISO 9283:1998 (the formulas from memory of it)
 */
export function pathAccuracy(off: CycleValues): PathFigures | null {
  const { cycles, points } = off;
  let reached = 0;
  let accuracy = 0;
  let repeatability = 0;
  const lengths = new Float64Array(cycles);
  for (let p = 0; p < points; p++) {
    let [x, y, z] = [0, 0, 0];
    for (let c = 0; c < cycles; c++) {
      x += off.x[c * points + p]!;
      y += off.y[c * points + p]!;
      z += off.z[c * points + p]!;
    }
    if (!Number.isFinite(x + y + z)) continue;
    reached++;
    [x, y, z] = [x / cycles, y / cycles, z / cycles];
    accuracy = Math.max(accuracy, Math.hypot(x, y, z));
    let sum = 0;
    for (let c = 0; c < cycles; c++) {
      const k = c * points + p;
      lengths[c] = Math.hypot(off.x[k]! - x, off.y[k]! - y, off.z[k]! - z);
      sum += lengths[c]!;
    }
    const mean = sum / cycles;
    let squares = 0;
    for (let c = 0; c < cycles; c++) squares += (lengths[c]! - mean) ** 2;
    if (cycles > 1) repeatability = Math.max(repeatability, mean + 3 * Math.sqrt(squares / (cycles - 1)));
  }
  if (reached === 0 || cycles === 0) return null;
  return { cycles, points: reached, points_of: points, accuracy, repeatability: cycles > 1 ? repeatability : null };
}

/** Figures of the contour distance, metres. */
interface ContourFigures {
  readonly rms: number;
  readonly mean: number;
  /** 95th percentile, type 7 */
  readonly p95: number;
  readonly max: number;
  /** rms of the distance's components, world or vehicle axes as the subject's error */
  readonly x: number;
  readonly y: number;
  readonly z: number;
  /** median of `behind`, seconds: near the turns of a line there and back, either way may be the nearer */
  readonly behind: number;
  /** share of samples at the edge of the search */
  readonly edge_share: number;
}

/** Figures of a contour; null where it has no sample. */
export function contourFigures(contour: Contour): ContourFigures | null {
  const { x, y, z, distance, behind, atEdge } = contour;
  const n = distance.length;
  if (n === 0) return null;
  const root = (column: Float64Array): number => Math.sqrt(sumOf(column, (value) => value * value) / n);
  let max = 0;
  for (let i = 0; i < n; i++) if (distance[i]! > max) max = distance[i]!;
  return {
    rms: root(distance),
    mean: sumOf(distance, (value) => value) / n,
    p95: quantileReordering(distance.slice(), 0.95),
    max,
    x: root(x),
    y: root(y),
    z: root(z),
    behind: quantileReordering(behind.slice(), 0.5),
    edge_share: atEdge / n,
  };
}

function sumOf(column: Float64Array, pick: (value: number) => number): number {
  let sum = 0;
  for (let i = 0; i < column.length; i++) sum += pick(column[i]!);
  return sum;
}
