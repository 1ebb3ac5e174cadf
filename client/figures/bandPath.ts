import type { SeriesAnswer } from "../../src/contract/api/runAnswers.ts";
import { type Axis, axes } from "../../src/foundation/tracks.ts";

type Stretch = SeriesAnswer["stretches"][number];
type Channel = "x" | "y" | "z" | "norm";

const at = (x: number, y: number): string => `${x.toFixed(2)},${y.toFixed(2)}`;

/**
 * Path data of one gapless stretch: a line where every entry is a sample, else the band between lowest and highest.
 * One stretch is one subpath: two stretches never share one, so that nothing is drawn across a gap.
 *
 * @param x  seconds to pixels
 * @param y  metres to pixels
 */
export function bandPath(
  stretch: Stretch,
  channel: Channel,
  x: (seconds: number) => number,
  y: (metres: number) => number,
): string {
  const { start, end } = stretch;
  const { low, high } = stretch[channel];
  const n = start.length;
  if (n === 0) return "";
  const samples = low.every((value, k) => value === high[k] && start[k] === end[k]);
  // a lone sample is a line of no length, which round caps show as a dot
  if (samples) return `M${start.map((t, k) => at(x(t), y(low[k]!))).join("L")}${n === 1 ? "h0" : ""}`;
  const corners: string[] = [];
  for (let k = 0; k < n; k++) corners.push(at(x(start[k]!), y(high[k]!)), at(x(end[k]!), y(high[k]!)));
  for (let k = n - 1; k >= 0; k--) corners.push(at(x(end[k]!), y(low[k]!)), at(x(start[k]!), y(low[k]!)));
  return `M${corners.join("L")}Z`;
}

/** Path data of all stretches: bands and lines apart, for a band is filled and a line is not. */
export function bandPaths(
  stretches: readonly Stretch[],
  channel: Channel,
  x: (seconds: number) => number,
  y: (metres: number) => number,
): { readonly bands: string; readonly lines: string } {
  const paths = stretches.map((stretch) => bandPath(stretch, channel, x, y));
  return {
    bands: paths.filter((path) => path.endsWith("Z")).join(""),
    lines: paths.filter((path) => !path.endsWith("Z")).join(""),
  };
}

/**
 * Gaps in what is drawn, seconds: between stretches, and at the ends of the window where it begins or ends within a gap.
 *
 * @param widest  sample intervals that are no gap yet
 */
export function gapsOf({ stretches, window }: Pick<SeriesAnswer, "stretches" | "window">, widest: number): Span[] {
  const gaps: Span[] = [];
  const interval = sampleInterval(stretches);
  const [first, last] = [stretches[0], stretches[stretches.length - 1]];
  if (first === undefined || last === undefined) return [[window[0], window[1]]];
  const begin = first.start[0]!;
  if (begin - window[0] > widest * interval) gaps.push([window[0], begin]);
  for (let k = 1; k < stretches.length; k++) gaps.push([lastOf(stretches[k - 1]!.end), stretches[k]!.start[0]!]);
  const end = lastOf(last.end);
  if (window[1] - end > widest * interval) gaps.push([end, window[1]]);
  return gaps;
}

type Span = [number, number];
const lastOf = (values: readonly number[]): number => values[values.length - 1]!;

/** The last sample of a column and the first of the next are neighbours: their usual distance is the sample interval. */
function sampleInterval(stretches: readonly Stretch[]): number {
  const steps = stretches.flatMap(({ start, end }) => start.slice(1).map((t, k) => t - end[k]!));
  if (steps.length === 0) return Number.POSITIVE_INFINITY;
  steps.sort((a, b) => a - b);
  return steps[steps.length >> 1]!;
}

/** Lowest and highest of some channels over all stretches; null where there is no sample. */
export function bandExtent(
  stretches: readonly Stretch[],
  channels: readonly Channel[],
): readonly [number, number] | null {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (const stretch of stretches) {
    for (const channel of channels) {
      for (const value of stretch[channel].low) if (value < low) low = value;
      for (const value of stretch[channel].high) if (value > high) high = value;
    }
  }
  return low <= high ? [low, high] : null;
}

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
