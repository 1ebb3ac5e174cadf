import { median } from "../numeric/median.ts";

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
