import type { StampFigures, TopicTiming } from "../../contract/inspection.ts";
import { defaultSettings } from "../../contract/settings.ts";
import type { StampColumn } from "../../foundation/recording.ts";
import type { Nanoseconds } from "../../foundation/units.ts";
import { median, quantile } from "../../numeric/descriptive.ts";

/** Times of one topic's messages as a reader hands them over. */
interface Times {
  readonly received: StampColumn;
  readonly stamped: StampColumn | null;
  readonly zeroStamps: number;
}

/** Unix seconds after September 2001 have ten digits; times since a boot never get there. */
const datesFrom = 1e9;

/**
 * Rate and gaps of one topic, by its header stamps where every message has one, else by receipt.
 *
 * Times are put in order first: what stands backward is counted by `stampFigures`. A gap is an interval of more than
 * `gap_intervals` medians.
 *
 * @param start  the log's first receipt; `longest_gap_at` counts from it
 * @returns null where the topic has no message
 */
export function topicTiming(times: Times, start: Nanoseconds | null): TopicTiming | null {
  const { received, stamped } = times;
  if (received.seconds.length === 0) return null;
  const by = stamped?.seconds.every(Number.isFinite) ? "header" : "receipt";
  const column = by === "header" ? stamped! : received;
  const ordered = column.seconds.filter(Number.isFinite).sort();
  const none = { median_interval: null, interval_p5: null, interval_p95: null, gap_over: null };
  const noGap = { gaps: 0, longest_gap: null, longest_gap_at: null };
  if (ordered.length < 2) return { by, ...none, ...noGap };
  const intervals = ordered.subarray(1).map((time, i) => time - ordered[i]!);
  const middle = median(intervals);
  if (middle <= 0) return { by, ...none, ...noGap };
  const limit = defaultSettings.gap_intervals * middle;
  let gaps = 0;
  let longest = 0;
  for (let i = 0; i < intervals.length; i++) {
    if (intervals[i]! <= limit) continue;
    gaps++;
    if (intervals[i]! > intervals[longest]! || gaps === 1) longest = i;
  }
  // a place in a gap is known by receipt, the one time all topics share
  const receivedAt =
    by === "receipt" ? ordered[longest]! : received.seconds[stamped!.seconds.indexOf(ordered[longest]!)]!;
  const at = receivedAt + Number(received.epoch - (start ?? received.epoch)) / 1e9;
  return {
    by,
    median_interval: middle,
    interval_p5: quantile(intervals, 0.05),
    interval_p95: quantile(intervals, 0.95),
    gap_over: limit,
    gaps,
    longest_gap: gaps === 0 ? null : intervals[longest]!,
    longest_gap_at: gaps === 0 ? null : at,
  };
}

/**
 * Header stamps against receipt.
 *
 * @returns null where the type carries no stamp or there is no message
 */
export function stampFigures({ received, stamped, zeroStamps }: Times): StampFigures | null {
  if (stamped === null || stamped.seconds.length === 0) return null;
  let backward = 0;
  let duplicate = 0;
  let before = Number.NaN;
  const delays: number[] = [];
  const apart = Number(received.epoch - stamped.epoch) / 1e9;
  for (let i = 0; i < stamped.seconds.length; i++) {
    const stamp = stamped.seconds[i]!;
    if (!Number.isFinite(stamp)) continue;
    if (stamp < before) backward++;
    if (stamp === before) duplicate++;
    before = stamp;
    const delay = received.seconds[i]! - stamp + apart;
    if (Number.isFinite(delay)) delays.push(delay);
  }
  const all = Float64Array.from(delays);
  const counts = { zero: zeroStamps, backward, duplicate };
  if (all.length === 0) return { ...counts, epoch: null, delay_median: null, delay_spread: null, delay_growth: null };
  const known = stamped.seconds.filter(Number.isFinite);
  const absolute = Number(stamped.epoch) / 1e9 + median(known);
  const tenth = Math.floor(all.length / 10);
  return {
    ...counts,
    epoch: absolute >= datesFrom ? "date" : "since start",
    delay_median: median(all),
    delay_spread: quantile(all, 0.95) - quantile(all, 0.05),
    delay_growth: tenth === 0 ? null : median(all.slice(-tenth)) - median(all.slice(0, tenth)),
  };
}
