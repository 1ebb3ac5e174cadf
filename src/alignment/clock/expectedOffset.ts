import { isDate, type Timeline } from "../stamps.ts";

/** Where the offset between two clocks may be looked for. */
export interface ExpectedOffset {
  /** that clock's stamp minus the reference clock's, seconds */
  readonly near: number;
  /** the same in words, as it stands behind "within 2 s of" */
  readonly about: string;
}

/** A signal as far as its clock goes. */
export interface Stamped {
  readonly timeline: Timeline;
  /** epoch of its receipts, nanoseconds */
  readonly received: bigint;
  /** which of the run's logs it stands in; null: the only one */
  readonly log: string | null;
  /** whether that is a log of messages, which one recorder received, and not a table or a point file, whose times are its own */
  readonly messages: boolean;
}

/**
 * What two logs tell of the offset between their clocks before any motion is looked at: two dates are meant to be the same;
 * stamps that one recorder received, or two recorders that both know the date, are placed by their receipt.
 *
 * @returns null where nothing is known: each log counts from its own start
 */
export function expectedOffset(that: Stamped, reference: Stamped): ExpectedOffset | null {
  if (isDate(that.timeline.epoch) && isDate(reference.timeline.epoch))
    return { near: 0, about: "0 s (both clocks show dates)" };
  const oneRecorder = that.log === reference.log && that.messages && reference.messages;
  if (!oneRecorder && !(isDate(that.received) && isDate(reference.received))) return null;
  const near = late(that) - late(reference);
  return Number.isFinite(near) ? { near, about: "the offset that the times of receipt show" } : null;
}

/** What a signal's times are ahead of its receipt, seconds: nothing where it is placed by receipt. */
function late({ timeline }: Stamped): number {
  return timeline.source === "log" ? 0 : timeline.stampMinusReceipt;
}

/** The offset at which both signals begin together: where two logs were started by one trigger. */
export function offsetOfStarts(that: Timeline, reference: Timeline): ExpectedOffset {
  return {
    near: Number(that.epoch - reference.epoch) / 1e9 + that.t[0]! - reference.t[0]!,
    about: "the offset at which both logs begin together",
  };
}
