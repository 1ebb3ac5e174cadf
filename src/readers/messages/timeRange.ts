import type { Nanoseconds } from "../../foundation/units.ts";
import { secondsAfter } from "./SignalTable.ts";

/** First and last of several stretches of time, in whatever order; null where there are none. */
export function timeRange(
  stretches: Iterable<{ readonly start: Nanoseconds | null; readonly end: Nanoseconds | null }>,
): {
  start: Nanoseconds | null;
  end: Nanoseconds | null;
} {
  let first: Nanoseconds | null = null;
  let last: Nanoseconds | null = null;
  for (const { start, end } of stretches) {
    if (start !== null && (first === null || start < first)) first = start;
    if (end !== null && (last === null || end > last)) last = end;
  }
  return { start: first, end: last };
}

/**
 * First and last time of what lies in some chunks, where a look into a chunk costs: they are looked into in the order
 * of their own times, until the next can bring nothing earlier (or later).
 *
 * @param look  first and last time in one chunk
 */
export function rangeWithin<Chunk extends { readonly start: Nanoseconds; readonly end: Nanoseconds }>(
  chunks: readonly Chunk[],
  look: (chunk: Chunk) => { readonly start: Nanoseconds; readonly end: Nanoseconds } | null,
): { start: Nanoseconds | null; end: Nanoseconds | null } {
  let start: Nanoseconds | null = null;
  for (const chunk of [...chunks].sort((a, b) => compare(a.start, b.start))) {
    if (start !== null && chunk.start >= start) break;
    const range = look(chunk);
    if (range !== null && (start === null || range.start < start)) start = range.start;
  }
  let end: Nanoseconds | null = null;
  for (const chunk of [...chunks].sort((a, b) => compare(b.end, a.end))) {
    if (end !== null && chunk.end <= end) break;
    const range = look(chunk);
    if (range !== null && (end === null || range.end > end)) end = range.end;
  }
  return { start, end };
}

function compare(a: Nanoseconds, b: Nanoseconds): number {
  return a < b ? -1 : a > b ? 1 : 0;
}

/** Seconds after `start` of instants kept as whole seconds and nanoseconds (ROS 1). */
export function clockOfSeconds(start: Nanoseconds): (sec: number, nsec: number) => number {
  const startSec = Number(start / 1_000_000_000n);
  const startNsec = Number(start % 1_000_000_000n);
  return (sec, nsec) => secondsAfter(sec, nsec, startSec, startNsec);
}

/**
 * Seconds after `start` of instants kept as nanoseconds in two words, the high one first.
 *
 * The difference is exact in nanoseconds up to 104 days and then rounded once, as that of the other clock.
 */
export function clockOfWords(start: Nanoseconds): (high: number, low: number) => number {
  const startHigh = Number(start >> 32n);
  const startLow = Number(start & 0xffff_ffffn);
  return (high, low) => ((high - startHigh) * 4_294_967_296 + (low - startLow)) / 1e9;
}
