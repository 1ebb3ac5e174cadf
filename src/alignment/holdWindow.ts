import type { Settings } from "../contract/settings.ts";
import type { PoseTrack, Window } from "../foundation/tracks.ts";
import { extent } from "../numeric/extent.ts";
import { sampleColumn } from "./sampleTrack.ts";

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
      return staysWithin(column, limit) ? [] : [{ column: sampleColumn(t, column, times), limit }];
    });
    // but where the command begins and ends does
    return own.length > 0 ? own : [{ column: sampleColumn(t, x, times), limit: settings.hold_constant }];
  });
  const [from, to] = deciding.length === 0 ? [0, times.length - 1] : longestConstant(times, deciding);
  if (to < from) return null;
  const last = beforeNextMotion(times, deciding, from, to);
  const window: Window = [times[from]! + settings.hold_settle, times[last]!];
  return window[1] - window[0] >= settings.hold_length ? window : null;
}

/**
 * The end of a stretch less the beginning of the motion after it, which stays within the limit for some samples: the
 * last sample that equals the one before. A command that never repeats itself is left as it is.
 */
function beforeNextMotion(
  times: Float64Array,
  values: readonly { column: Float64Array }[],
  from: number,
  to: number,
): number {
  let last = to;
  while (last > from && values.some(({ column }) => Math.abs(column[last]! - column[last - 1]!) > 1e-7)) last--;
  return times[to]! - times[last]! > 1 ? to : last;
}

function staysWithin(column: Float64Array, limit: number): boolean {
  const { low, high } = extent(column);
  return high - low <= limit && !column.includes(Number.NaN);
}

/** Instants of all commands inside the window, sorted, each once, with the window's ends. */
function commonTimes(commands: readonly PoseTrack[], within: Window): Float64Array {
  return commands.reduce<Float64Array>((merged, { t }) => mergedWithin(merged, t, within), Float64Array.from(within));
}

/** Two ascending columns of instants in one, each instant once; those outside the window left out. */
function mergedWithin(a: Float64Array, b: Float64Array, [from, to]: Window): Float64Array {
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

/** Longest stretch of samples in which each column's range stays within its limit and nothing is NaN. */
function longestConstant(
  times: Float64Array,
  values: readonly { column: Float64Array; limit: number }[],
): [number, number] {
  // the stretch that ends at a sample is as long as the shortest that any column allows
  const starts = new Uint32Array(times.length);
  for (const { column, limit } of values) raiseStarts(column, limit, starts);
  let best: [number, number] = [0, -1];
  let bestLength = -1;
  for (let right = 0; right < times.length; right++) {
    const left = starts[right]!;
    if (left > right || times[right]! - times[left]! <= bestLength) continue;
    bestLength = times[right]! - times[left]!;
    best = [left, right];
  }
  return best;
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
