import { quantileReordering } from "../numeric/quantile.ts";
import type { Contour } from "./contourDistance.ts";

/** Figures of the contour distance, metres. */
export interface ContourFigures {
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
