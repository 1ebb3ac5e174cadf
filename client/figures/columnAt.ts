import type { SeriesAnswer } from "../../src/contract/api/runAnswers.ts";
import { type Axis, axes } from "../../src/foundation/signals.ts";

/** What stands under a pointer: first and last instant of a column, seconds, and per axis its extremes, metres. */
export interface Column {
  readonly start: number;
  readonly end: number;
  readonly extremes: Readonly<Record<Axis, readonly [number, number]>>;
}

/**
 * The column nearest to an instant; null in a gap and outside.
 *
 * @param reach  seconds within which a column counts as meant, half a column of the drawing or so
 */
export function columnAt(stretches: SeriesAnswer["stretches"], t: number, reach: number): Column | null {
  let best: { s: number; k: number; away: number } | null = null;
  for (const [s, { start, end }] of stretches.entries()) {
    const n = start.length;
    if (n === 0 || t < start[0]! - reach || t > end[n - 1]! + reach) continue;
    let low = 0;
    let high = n;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (start[middle]! <= t) low = middle + 1;
      else high = middle;
    }
    // the last that starts before t, and its successor
    for (const k of [low - 1, low]) {
      if (k < 0 || k >= n) continue;
      const away = Math.max(0, start[k]! - t, t - end[k]!);
      if (best === null || away < best.away) best = { s, k, away };
    }
  }
  if (best === null) return null;
  const stretch = stretches[best.s]!;
  const { k } = best;
  const of = (axis: Axis): [number, number] => [stretch[axis].low[k]!, stretch[axis].high[k]!];
  const [x, y, z] = axes.map(of) as [[number, number], [number, number], [number, number]];
  return { start: stretch.start[k]!, end: stretch.end[k]!, extremes: { x, y, z } };
}
