import type { Window } from "../foundation/tracks.ts";
import { median } from "../numeric/descriptive.ts";
import { lowerBound } from "../numeric/sortedColumns.ts";

/**
 * Share of a window in which a track has samples: 1 less the time lost in intervals longer than `gapIntervals` median
 * intervals, each counted beyond one median interval. The window's ends count as samples one interval away.
 *
 * @param t  instants, seconds, increasing
 */
export function validFraction(t: Float64Array, interval: number, window: Window, gapIntervals: number): number {
  const length = window[1] - window[0];
  if (!(length > 0)) return 0;
  const from = lowerBound(t, window[0]);
  const to = lowerBound(t, window[1]);
  const longest = gapIntervals * interval;
  const before = window[0] - interval / 2;
  const after = window[1] + interval / 2;
  const ends =
    from === to
      ? beyond(after - before, longest, interval)
      : beyond(t[from]! - before, longest, interval) + beyond(after - t[to - 1]!, longest, interval);
  const lost = ends + timeLost(t, from, to, longest, interval);
  return Math.max(0, 1 - lost / length);
}

function beyond(step: number, longest: number, interval: number): number {
  return step > longest ? step - interval : 0;
}

/** Seconds lost between the instants from `from` to before `to`. */
function timeLost(t: Float64Array, from: number, to: number, longest: number, interval: number): number {
  let lost = 0;
  for (let i = from + 1; i < to; i++) {
    const step = t[i]! - t[i - 1]!;
    if (step > longest) lost += step - interval;
  }
  return lost;
}

/** Time that stretches and a window have in common, seconds. */
export function overlapWith(stretches: readonly (readonly [number, number])[], window: Window): number {
  return stretches.reduce((sum, [a, b]) => sum + Math.max(0, Math.min(b, window[1]) - Math.max(a, window[0])), 0);
}

/**
 * Seconds of times that two stretches of a log share: how far the rows after the largest step back go over ground that the
 * rows before it cover without a gap. Rows that only came late fill a gap, and share nothing.
 *
 * @param seconds  instants in the order of the log
 * @param keep     numbers of the rows that count
 * @returns seconds shared, and the place in `keep` at which the second stretch begins; 0 seconds where nothing is shared
 * @remarks cost: n log n
 */
export function sharedStretch(seconds: Float64Array, keep: Uint32Array): { shared: number; at: number } {
  const t = Float64Array.from(keep, (row) => seconds[row]!);
  const steps = t.subarray(1).map((time, k) => time - t[k]!);
  const forward = steps.filter((step) => step > 0);
  const back = steps.reduce((least, step) => Math.min(least, step), 0);
  if (back === 0 || forward.length === 0) return { shared: 0, at: 0 };
  const at = steps.indexOf(back) + 1;
  const interval = median(forward);
  const before = t.slice(0, at).sort();
  const after = t.slice(at).sort();
  let count = 0;
  let next = 0;
  for (const time of after) {
    while (next < before.length && before[next]! < time) next++;
    const last = before[before[next] === time ? next : next - 1];
    if (next < before.length && last !== undefined && before[next]! - last <= widestInterval * interval) count++;
  }
  return { shared: count * interval, at };
}

/** Intervals from one row to the next that are no gap. */
const widestInterval = 2.5;

/** Two ascending columns of instants in one, each instant once; those outside the window left out. */
export function mergeTimes(a: Float64Array, b: Float64Array, [from, to]: Window): Float64Array {
  const merged = new Float64Array(a.length + b.length);
  let n = 0;
  let i = 0;
  let j = 0;
  let before = Number.NEGATIVE_INFINITY;
  while (i < a.length || j < b.length) {
    const t = j >= b.length || (i < a.length && a[i]! <= b[j]!) ? a[i++]! : b[j++]!;
    if (t <= before || t < from || t > to) continue;
    merged[n++] = t;
    before = t;
  }
  return merged.subarray(0, n);
}
