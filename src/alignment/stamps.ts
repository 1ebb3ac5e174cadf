import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import type { RecordedSignal, StampColumn } from "../foundation/recording.ts";
import { gather } from "../numeric/sortedColumns.ts";
import {
  backwardCheck,
  logStampsUsed,
  otherEpoch,
  repeated,
  type SetWithin,
  strangeDropped,
  wasSet,
  zeroDropped,
} from "./stampChecks.ts";
import { sharedStretch } from "./validFraction.ts";

/** One signal's instants on its own clock, sorted, each once. */
export interface Timeline {
  /** seconds after `epoch` on the signal's clock, strictly increasing */
  readonly t: Float64Array;
  readonly epoch: bigint;
  /** message index of each instant */
  readonly order: Uint32Array;
  /** typical stamp minus receipt, seconds; NaN where only the receipt is known */
  readonly stampMinusReceipt: number;
  /** width of the middle 90 % of stamp minus receipt, seconds; NaN where only the receipt is known */
  readonly stampSpread: number;
  readonly source: "header" | "log";
}

/** 2001-09-09: an instant before it was counted from a boot or from nothing, not from 1970. */
const firstDateNanoseconds = 1_000_000_000_000_000_000n;

/** Whether an instant can be a date at all (else it counts from a boot). */
export function isDate(epoch: bigint): boolean {
  return epoch > firstDateNanoseconds;
}

/**
 * Chooses between header stamp and receipt time, then sorts and cleans the chosen one.
 *
 * Header stamps are taken unless more than a few are zero or the type has none. Messages whose stamp is zero, or lies in
 * another epoch than the signal's other stamps, cannot be placed and are dropped, counted. Equal stamps: the first message stays. Nothing
 * is dropped or sorted without a check that says so.
 *
 * @param signal    as logged
 * @param rule      what the manifest asks for
 * @param ownClock  whether the manifest gives the signal a clock that may count from another epoch
 * @returns the timeline and the checks it gave rise to; an empty timeline where the signal has no message
 */
export function buildTimeline(
  signal: RecordedSignal,
  rule: "header" | "log",
  settings: Settings,
  ownClock = false,
): { timeline: Timeline; checks: Check[] } {
  const checks: Check[] = [];
  const n = signal.received.seconds.length;
  const header = rule === "header" ? signal.stamped : null;
  const useHeader = header !== null && signal.zeroStamps <= settings.zero_stamps * n && n > 0;
  if (rule === "header" && !useHeader && n > 0) checks.push(logStampsUsed(signal, n));
  const column = useHeader ? header : signal.received;
  const { middle: distance, spread } = useHeader
    ? distances(header, signal.received)
    : { middle: Number.NaN, spread: Number.NaN };
  const keep = useHeader ? inEpoch(header, signal.received, distance, settings.stamp_outlier) : all(n);
  const zero = useHeader ? signal.zeroStamps : 0;
  if (zero > 0) checks.push(zeroDropped(signal, n));
  const strange = n - keep.length - zero;
  if (strange > 0) checks.push(strangeDropped(signal, strange, keep, n));
  if (useHeader && n > 0 && Math.abs(distance) > 86_400) checks.push(otherEpoch(signal, distance, ownClock));
  const { order, backward, largestBack } = sortedOrder(column.seconds, keep);
  const setBack = useHeader && largestBack > 0.5 ? clockStep(header, signal.received, keep) : 0;
  // a table knows one time only, and no receipt that could tell; rows in no order at all are another matter
  const again =
    signal.stamped === signal.received && largestBack > 0.5 && backward <= 0.01 * n
      ? sharedStretch(column.seconds, keep)
      : { shared: 0, at: 0 };
  if (backward > 0) checks.push(backwardCheck(signal, { backward, largestBack, setBack, again, kept: keep.length, n }));
  if (useHeader && signal.stamped !== signal.received) {
    const step = setWithin(header, signal.received, keep, settings);
    if (step !== null && checks.every(({ severity }) => severity !== "unusable")) checks.push(wasSet(signal, step));
  }
  const unique = dropEqual(column.seconds, order);
  const duplicates = order.length - unique.length;
  if (duplicates > 0) checks.push(repeated(signal, duplicates, n));
  const t = gather(column.seconds, unique);
  return {
    timeline: {
      t,
      epoch: column.epoch,
      order: unique,
      stampMinusReceipt: distance,
      stampSpread: spread,
      source: useHeader ? "header" : "log",
    },
    checks,
  };
}

function all(n: number): Uint32Array {
  const indices = new Uint32Array(n);
  for (let i = 0; i < n; i++) indices[i] = i;
  return indices;
}

/** How far stamp minus receipt moves across the largest backward step: a clock that was set, not a packet that came late. */
function clockStep(stamped: StampColumn, received: StampColumn, keep: Uint32Array): number {
  let at = 1;
  for (let i = 1; i < keep.length; i++) {
    const step = (k: number): number => stamped.seconds[keep[k]!]! - stamped.seconds[keep[k - 1]!]!;
    if (step(i) < step(at)) at = i;
  }
  const near = (from: number, to: number): number => {
    const distances = new Float64Array(Math.max(0, to - from));
    for (let i = from; i < to; i++) distances[i - from] = stamped.seconds[keep[i]!]! - received.seconds[keep[i]!]!;
    distances.sort();
    return distances[distances.length >> 1] ?? Number.NaN;
  };
  return near(at, Math.min(keep.length, at + 200)) - near(Math.max(0, at - 200), at);
}

/** Fewest messages on either side of a step. */
const leastBeside = 20;

/**
 * Where stamp minus receipt jumps farthest between two messages, by how much its medians before and after differ; null where that
 * is little, or no more than it spreads by itself: recorders write in bursts, and then it comes back.
 */
function setWithin(
  stamped: StampColumn,
  received: StampColumn,
  keep: Uint32Array,
  settings: Settings,
): SetWithin | null {
  const apart = Float64Array.from(keep, (i) => stamped.seconds[i]! - received.seconds[i]!);
  let at = 1;
  for (let i = 2; i < apart.length; i++)
    if (Math.abs(apart[i]! - apart[i - 1]!) > Math.abs(apart[at]! - apart[at - 1]!)) at = i;
  if (at < leastBeside || apart.length - at < leastBeside) return null;
  if (!(Math.abs(apart[at]! - apart[at - 1]!) > settings.clock_set)) return null;
  const [before, after] = [apart.slice(0, at).sort(), apart.slice(at).sort()];
  const part = (sorted: Float64Array, share: number): number => sorted[Math.floor(share * (sorted.length - 1))]!;
  const size = part(after, 0.5) - part(before, 0.5);
  const usual = Math.max(...[before, after].map((side) => part(side, 0.95) - part(side, 0.05)));
  if (!(Math.abs(size) > Math.max(settings.clock_set, settings.clock_set_spreads * usual))) return null;
  return { size, at: received.seconds[keep[at]!]! - received.seconds[keep[0]!]!, usual };
}

/** Median and middle 90 % of stamp minus receipt over at most 2001 messages, seconds. */
function distances(stamped: StampColumn, received: StampColumn): { middle: number; spread: number } {
  const n = stamped.seconds.length;
  const step = Math.max(1, Math.floor(n / 2001));
  const epochs = Number(stamped.epoch - received.epoch) / 1e9;
  const all = new Float64Array(Math.ceil(n / step));
  for (let i = 0, k = 0; i < n; i += step) all[k++] = stamped.seconds[i]! - received.seconds[i]!;
  // a zero stamp is none
  const found = all.filter((distance) => !Number.isNaN(distance)).sort();
  const at = (share: number): number => found[Math.floor(share * (found.length - 1))] ?? Number.NaN;
  return { middle: epochs + at(0.5), spread: at(0.95) - at(0.05) };
}

function inEpoch(stamped: StampColumn, received: StampColumn, distance: number, limit: number): Uint32Array {
  const epochs = Number(stamped.epoch - received.epoch) / 1e9;
  const n = stamped.seconds.length;
  const kept = new Uint32Array(n);
  let count = 0;
  for (let i = 0; i < n; i++) {
    if (Math.abs(stamped.seconds[i]! - received.seconds[i]! + epochs - distance) <= limit) kept[count++] = i;
  }
  return kept.subarray(0, count);
}

function sortedOrder(
  seconds: Float64Array,
  keep: Uint32Array,
): { order: Uint32Array; backward: number; largestBack: number } {
  let backward = 0;
  let largestBack = 0;
  for (let i = 1; i < keep.length; i++) {
    const step = seconds[keep[i]!]! - seconds[keep[i - 1]!]!;
    if (step < 0) {
      backward++;
      largestBack = Math.max(largestBack, -step);
    }
  }
  if (backward === 0) return { order: keep, backward, largestBack };
  const order = keep.slice().sort((a, b) => seconds[a]! - seconds[b]! || a - b);
  return { order, backward, largestBack };
}

function dropEqual(seconds: Float64Array, order: Uint32Array): Uint32Array {
  const kept = new Uint32Array(order.length);
  let count = 0;
  for (let i = 0; i < order.length; i++) {
    if (i === 0 || seconds[order[i]!]! > seconds[order[i - 1]!]!) kept[count++] = order[i]!;
  }
  return kept.subarray(0, count);
}
