import type { Nanoseconds } from "../../foundation/units.ts";
import { secondsAfter } from "./SignalTable.ts";

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
