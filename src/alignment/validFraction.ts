import type { Window } from "../foundation/tracks.ts";
import { lowerBound } from "../numeric/lowerBound.ts";

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
