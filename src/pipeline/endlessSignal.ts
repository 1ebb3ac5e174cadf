import type { MissingSignal, RecordedSignal } from "../foundation/recording.ts";
import { extent } from "../numeric/extent.ts";

/** Seconds beyond which the instants of one run's signal are no flight's: a day. */
const longestRun = 86_400;

/**
 * A signal whose instants span more than a day: a time in the wrong unit, or a stray record years away. Everything after
 * would be sized by it, so that it counts as missing.
 *
 * @returns null where the span is a flight's
 */
export function endlessSignal({ signal, topic, received: { seconds } }: RecordedSignal): MissingSignal | null {
  const { low, high } = extent(seconds);
  if (!(high - low > longestRun)) return null;
  const middle = seconds[seconds.length >> 1]!;
  const far = seconds.reduce((count, at) => (Math.abs(at - middle) > longestRun / 2 ? count + 1 : count), 0);
  return {
    signal,
    topic,
    reason: "wrong-type",
    message: `${signal}: found instants from ${low} s to ${high} s after the log's start, ${far} of ${seconds.length} of them more than half a day from the middle one, expected the minutes of a flight`,
    hint:
      far < 0.1 * seconds.length
        ? "the log holds stray time stamps: leave them out by span:, or cut the records out"
        : "declare the unit of the time, such as `units: { t: us }`, or name the flight's part of the log by span:",
  };
}
