import type { Settings } from "../contract/settings.ts";
import type { PoseTrack, Window } from "../foundation/tracks.ts";
import { extent } from "../numeric/descriptive.ts";
import { lowerBound } from "../numeric/sortedColumns.ts";
import { sampleColumn } from "./sampleTrack.ts";
import { mergeTimes } from "./validFraction.ts";

/**
 * The hold window: the longest stretch with every command constant, from `hold_settle` seconds after its last change.
 * The first message of a command counts as a change, so that a take-off is not scored.
 *
 * @param commands  curves of all commands of the run (setpoint, effector command), seconds since the run's epoch
 * @param within    the stretch in which poses were recorded
 * @returns null where no stretch is `hold_length` long
 */
export function findHoldWindow(commands: readonly PoseTrack[], within: Window, settings: Settings): Window | null {
  const times = commonTimes(commands, within);
  // half an angle in a quaternion component
  const turn = settings.hold_turn / 2;
  const deciding = commands.flatMap(({ t, x, y, z, qx, qy, qz, qw }) => {
    const own = [x, y, z, qx, qy, qz, qw].flatMap((column, c) => {
      const limit = c < 3 ? settings.hold_constant : turn;
      // a column that never leaves its limit decides nothing
      return staysWithin(column, limit) ? [] : [{ t, column, limit }];
    });
    // but where the command begins and ends does
    return own.length > 0 ? own : [{ t, column: x, limit: settings.hold_constant }];
  });
  const held = longestConstant(times, deciding, settings.hold_settle + settings.hold_length);
  if (held === null) return null;
  const window: Window = [held[0]! + settings.hold_settle, beforeNextMotion(held, deciding)];
  return window[1] - window[0] >= settings.hold_length ? window : null;
}

/** A column of a command on its own instants, and how far it may go while the command counts as constant. */
interface Deciding {
  readonly t: Float64Array;
  readonly column: Float64Array;
  readonly limit: number;
}

/**
 * The end of a stretch less the beginning of the motion after it, which stays within the limit for some samples: the
 * last sample that equals the one before. A command that never repeats itself within the last second is left as it is.
 */
function beforeNextMotion(held: Float64Array, values: readonly Deciding[]): number {
  const end = held[held.length - 1]!;
  const tail = held.subarray(Math.max(0, lowerBound(held, end - 1) - 1));
  const columns = values.map(({ t, column }) => sampleColumn(t, column, tail));
  let last = tail.length - 1;
  while (last > 0 && columns.some((column) => Math.abs(column[last]! - column[last - 1]!) > 1e-7)) last--;
  return end - tail[last]! > 1 ? end : tail[last]!;
}

function staysWithin(column: Float64Array, limit: number): boolean {
  const { low, high } = extent(column);
  return high - low <= limit && !column.includes(Number.NaN);
}

/** Instants of all commands inside the window, sorted, each once, with the window's ends. */
function commonTimes(commands: readonly PoseTrack[], within: Window): Float64Array {
  return commands.reduce<Float64Array>((merged, { t }) => mergeTimes(merged, t, within), Float64Array.from(within));
}

/**
 * Instants of the longest stretch in which each column's range stays within its limit and nothing is NaN; null where
 * none lasts `least` seconds. What one column rules out the next need not look at: a moving command leaves little.
 */
function longestConstant(times: Float64Array, values: readonly Deciding[], least: number): Float64Array | null {
  // the stretch that ends at a sample is as long as the shortest that any column allows
  let starts = new Uint32Array(times.length);
  let left = times;
  for (const { t, column, limit } of values) {
    raiseStarts(sampleColumn(t, column, left), limit, starts);
    const [from, to] = longEnough(left, starts, least);
    if (to < from) return null;
    if (to - from + 1 === left.length) continue;
    left = left.subarray(from, to + 1);
    starts = starts.slice(from, to + 1);
    for (let i = 0; i < starts.length; i++) starts[i] = Math.max(0, starts[i]! - from);
  }
  let best: Float64Array | null = null;
  let bestLength = 0;
  for (let right = 0; right < left.length; right++) {
    const first = starts[right]!;
    if (first > right || left[right]! - left[first]! <= bestLength) continue;
    bestLength = left[right]! - left[first]!;
    best = left.subarray(first, right + 1);
  }
  return best;
}

/** First and last sample of all stretches that last `least` seconds; the last before the first where there is none. */
function longEnough(times: Float64Array, starts: Uint32Array, least: number): [number, number] {
  let from = times.length;
  let to = -1;
  for (let right = 0; right < times.length; right++) {
    const first = starts[right]!;
    if (first > right || times[right]! - times[first]! < least) continue;
    if (first < from) from = first;
    to = right;
  }
  return [from, to];
}

/**
 * Raises, for each sample, the first sample of the longest stretch up to it whose range is within the limit; beyond the
 * sample itself where it is NaN. Two queues of indices whose heads are the extremes of the stretch (the classic
 * monotonic queue), written out: this runs for every command of a log.
 */
function raiseStarts(column: Float64Array, limit: number, starts: Uint32Array): void {
  const n = column.length;
  const highs = new Uint32Array(n);
  const lows = new Uint32Array(n);
  let highHead = 0;
  let highEnd = 0;
  let lowHead = 0;
  let lowEnd = 0;
  let left = 0;
  for (let right = 0; right < n; right++) {
    const value = column[right]!;
    if (Number.isNaN(value)) {
      left = right + 1;
      highHead = highEnd = lowHead = lowEnd = 0;
    } else {
      while (highEnd > highHead && column[highs[highEnd - 1]!]! <= value) highEnd--;
      while (lowEnd > lowHead && column[lows[lowEnd - 1]!]! >= value) lowEnd--;
      highs[highEnd++] = right;
      lows[lowEnd++] = right;
      while (column[highs[highHead]!]! - column[lows[lowHead]!]! > limit) {
        left++;
        if (highs[highHead]! < left) highHead++;
        if (lows[lowHead]! < left) lowHead++;
      }
    }
    if (left > starts[right]!) starts[right] = left;
  }
}
