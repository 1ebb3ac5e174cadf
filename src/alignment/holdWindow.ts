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
  return high - low <= limit && !column.some(Number.isNaN);
}

/** Instants of all commands inside the window, sorted, each once, with the window's ends. */
function commonTimes(commands: readonly PoseTrack[], within: Window): Float64Array {
  const size = commands.reduce((sum, command) => sum + command.t.length, 2);
  const merged = new Float64Array(size);
  merged[0] = within[0];
  merged[1] = within[1];
  let n = 2;
  for (const { t } of commands) {
    for (let i = 0; i < t.length; i++) if (t[i]! > within[0] && t[i]! < within[1]) merged[n++] = t[i]!;
  }
  const sorted = merged.subarray(0, n).sort();
  let kept = 0;
  for (let i = 0; i < n; i++) if (i === 0 || sorted[i]! > sorted[kept - 1]!) sorted[kept++] = sorted[i]!;
  return sorted.subarray(0, kept);
}

/** Longest stretch of samples in which each column's range stays within its limit and nothing is NaN. */
function longestConstant(
  times: Float64Array,
  values: readonly { column: Float64Array; limit: number }[],
): [number, number] {
  const n = times.length;
  const maxima = values.map(() => new SlidingExtreme(n, 1));
  const minima = values.map(() => new SlidingExtreme(n, -1));
  let best: [number, number] = [0, -1];
  let bestLength = -1;
  let left = 0;
  for (let right = 0; right < n; right++) {
    if (values.some(({ column }) => Number.isNaN(column[right]!))) {
      left = right + 1;
      continue;
    }
    values.forEach(({ column }, c) => {
      maxima[c]!.push(column, right, left);
      minima[c]!.push(column, right, left);
    });
    while (
      values.some(({ column, limit }, c) => maxima[c]!.value(column, left) - minima[c]!.value(column, left) > limit)
    )
      left++;
    if (times[right]! - times[left]! > bestLength) {
      bestLength = times[right]! - times[left]!;
      best = [left, right];
    }
  }
  return best;
}

/** Index queue of a sliding window whose head is the extreme value (the classic monotonic queue). */
class SlidingExtreme {
  private readonly queue: Uint32Array;
  private head = 0;
  private tail = 0;
  private readonly sign: number;

  constructor(size: number, sign: 1 | -1) {
    this.queue = new Uint32Array(size);
    this.sign = sign;
  }

  push(column: Float64Array, index: number, left: number): void {
    while (this.head < this.tail && this.queue[this.head]! < left) this.head++;
    while (this.head < this.tail && this.sign * (column[this.queue[this.tail - 1]!]! - column[index]!) <= 0)
      this.tail--;
    this.queue[this.tail++] = index;
  }

  value(column: Float64Array, left: number): number {
    while (this.queue[this.head]! < left) this.head++;
    return column[this.queue[this.head]!]!;
  }
}
