/** A gap in a stream, from the sample before it to the one after, and how many samples are missing in it. */
export interface Gap {
  readonly from: number;
  readonly to: number;
  readonly missing: number;
}

/** How long a stretch tells the least delay of receipt, seconds: many times what a network holds messages back. */
const floorSeconds = 1;

/** Over how long the rate is reported, seconds: delays at both ends then count for little. */
const rateSeconds = 5;

/** A loss stands out of what the least delay does by itself by so many of its standard deviations. */
const clear = 6;

/**
 * Interval at which messages were sent, from when they were received: delays come and go, so over seconds they cancel, where
 * the median of single steps says how messages bunch.
 *
 * @param t  receipts in order, seconds
 */
export function receiptInterval(t: Float64Array): number {
  const n = t.length;
  if (n < 2) return Number.NaN;
  const length = t[n - 1]! - t[0]!;
  const over = Math.max(1, Math.round((Math.min(rateSeconds, length / 4) * (n - 1)) / length));
  const spans = new Float64Array(n - over);
  for (let i = over; i < n; i++) spans[i - over] = (t[i]! - t[i - over]!) / over;
  return median(spans);
}

/**
 * Gaps of a stream placed by receipt. A message that comes late is no message lost: it leaves a long step, and those behind
 * it come in a burst. What was lost never comes: the least delay, counted from a sender that keeps its interval, is higher
 * ever after, by one interval a message. The least delay of up to a second before a long step is held against that after,
 * and has to stand out of how much it moves by itself in this stream.
 *
 * @param t         receipts in order, seconds
 * @param interval  at which messages were sent (`receiptInterval`), seconds
 * @param longest   steps up to this are no gap, nor is what is missing up to this, less one interval
 */
export function receiptGaps(t: Float64Array, interval: number, longest: number): Gap[] {
  const gaps: Gap[] = [];
  const reach = Math.max(1, Math.round(floorSeconds / interval));
  const least = Math.max(longest - interval, clear * floorScatter(t, interval, reach));
  let first = 0;
  // the last second is too short to tell late from lost
  for (let i = 1; i + reach <= t.length; i++) {
    if (!(t[i]! - t[i - 1]! > longest)) continue;
    const before = leastDelay(t, interval, Math.max(first, i - reach), i, i);
    const after = leastDelay(t, interval, i, i + reach, i);
    if (!(after - before > least)) continue;
    gaps.push({ from: t[i - 1]!, to: t[i]!, missing: Math.round((after - before) / interval) });
    first = i;
  }
  return gaps;
}

/**
 * How late messages were received, in the mean, beyond the least delay of their second: the least itself, which every message
 * had, no receipt shows.
 *
 * @param t  receipts in order, seconds
 */
export function meanLateness(t: Float64Array): number {
  const interval = receiptInterval(t);
  const reach = Math.max(1, Math.round(floorSeconds / interval));
  let sum = 0;
  let count = 0;
  for (let i = 0; i + reach <= t.length; i += reach) {
    const least = leastDelay(t, interval, i, i + reach, i);
    for (let k = i; k < i + reach; k++) sum += t[k]! - (k - i) * interval - least;
    count += reach;
  }
  return count === 0 ? 0 : sum / count;
}

/** By how much the least delay moves from one stretch to the next, as a standard deviation: by the median, which no loss moves. */
function floorScatter(t: Float64Array, interval: number, reach: number): number {
  const moves: number[] = [];
  for (let i = reach; i + reach <= t.length; i += reach)
    moves.push(Math.abs(leastDelay(t, interval, i, i + reach, i) - leastDelay(t, interval, i - reach, i, i)));
  // the median of a normal's absolute value is 0.674 of its standard deviation
  return moves.length === 0 ? 0 : median(Float64Array.from(moves)) / 0.674;
}

/** Least delay of the messages from `from` to before `to`, against a sender that keeps its interval and sends message `at` at 0. */
function leastDelay(t: Float64Array, interval: number, from: number, to: number, at: number): number {
  let least = Number.POSITIVE_INFINITY;
  for (let k = from; k < to; k++) least = Math.min(least, t[k]! - (k - at) * interval);
  return least;
}

/** Sorts in place. */
function median(values: Float64Array): number {
  values.sort();
  return values[values.length >> 1]!;
}
