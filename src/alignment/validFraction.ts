import type { Window } from "../foundation/tracks.ts";

/**
 * Share of a window in which a track has samples: 1 less the time lost in intervals longer than `gapIntervals` median
 * intervals, each counted beyond one median interval. The window's ends count as samples one interval away.
 *
 * @param t  instants, seconds, increasing
 */
export function validFraction(t: Float64Array, interval: number, window: Window, gapIntervals: number): number {
  const length = window[1] - window[0];
  if (!(length > 0)) return 0;
  let lost = 0;
  let previous = window[0] - interval / 2;
  const count = (next: number): void => {
    const step = next - previous;
    if (step > gapIntervals * interval) lost += step - interval;
    previous = next;
  };
  for (let i = 0; i < t.length; i++) {
    if (t[i]! < window[0]) continue;
    if (t[i]! > window[1]) break;
    count(t[i]!);
  }
  count(window[1] + interval / 2);
  return Math.max(0, 1 - lost / length);
}

/** Time that stretches and a window have in common, seconds. */
export function overlapWith(stretches: readonly (readonly [number, number])[], window: Window): number {
  return stretches.reduce((sum, [a, b]) => sum + Math.max(0, Math.min(b, window[1]) - Math.max(a, window[0])), 0);
}
