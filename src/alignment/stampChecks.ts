import type { Check } from "../foundation/checks.ts";
import type { RecordedSignal } from "../foundation/recording.ts";

/** How many messages at a recording's start may be older than it without being a doubt. */
const firstMessages = 2;

export function repeated({ topic }: RecordedSignal, duplicates: number, n: number): Check {
  return {
    code: "stamp-duplicate",
    severity: duplicates > 0.01 * n ? "doubt" : "note",
    message: `${duplicates} messages of ${topic} repeat the stamp before them; the first of each was kept`,
    evidence: { topic, count: duplicates, messages: n },
    hint: "a driver that publishes the same frame twice, or two publishers on one topic",
  };
}

export function logStampsUsed(signal: RecordedSignal, n: number): Check {
  const reason =
    signal.stamped === null
      ? `${signal.type} carries no stamp`
      : `${signal.zeroStamps} of ${n} header stamps of ${signal.topic} are zero`;
  return {
    code: "stamp-log-used",
    severity: signal.stamped === null ? "note" : "doubt",
    message: `${reason}; the time of receipt by the recorder was used, which includes every delay on the way`,
    evidence: { topic: signal.topic, zero: signal.zeroStamps, messages: n },
    hint: "stamp the message where it is made; or declare `stamp: log` to say that this is known",
  };
}

export function wasSet({ topic }: RecordedSignal, { size, at, usual }: SetWithin): Check {
  return {
    code: "clock-step",
    severity: "doubt",
    message: `stamps of ${topic} step by ${size.toFixed(2)} s against the time of receipt, ${at.toFixed(1)} s after the recording's start, and stay there (else the two lie within ${usual.toFixed(3)} s of each other): its clock or the recorder's was set ${size > 0 ? "forward" : "back"} within the run`,
    evidence: { topic, step_s: size, at_s: at, usual_spread_s: usual },
    hint: "let no time service step a clock during a flight; cut the run by `span`, before or after the step",
  };
}

export function strangeDropped({ topic }: RecordedSignal, strange: number, keep: Uint32Array, n: number): Check {
  // only the first message or two, and all after them: values from before the recording
  const stale = strange <= firstMessages && keep[0] === n - keep.length;
  return {
    code: "stamp-epoch",
    severity: keep.length < 0.9 * n ? "unusable" : stale ? "note" : "doubt",
    message: `${strange} of ${n} stamps of ${topic} lie in another epoch than the rest; those messages were dropped${stale ? ": a recorder that starts writes the last value there was, however old" : ""}`,
    evidence: { topic, dropped: strange, messages: n },
    hint: "look for a clock that was set during the recording, or use `stamp: log` for this signal",
  };
}

/** Of stamps that go back: a clock that was set, a table of two recordings, or packets in another order. */
export function backwardCheck(
  { topic }: RecordedSignal,
  facts: {
    readonly backward: number;
    readonly largestBack: number;
    readonly setBack: number;
    readonly again: { readonly shared: number; readonly at: number };
    readonly kept: number;
    readonly n: number;
  },
): Check {
  const { backward, largestBack, setBack, again, kept, n } = facts;
  if (setBack < -0.5 * largestBack && largestBack > 0.5)
    return {
      code: "stamp-backward",
      severity: "unusable",
      message: `the clock of ${topic} was set back by ${(-setBack).toFixed(2)} s during the recording: two stretches bear the same stamps`,
      evidence: { topic, step_s: setBack, backward_stamps: backward, messages: n },
      hint: "do not let the clock be disciplined in flight; or use `stamp: log` for this signal, with the delays that brings",
    };
  if (again.shared > 0.5)
    return {
      code: "stamp-backward",
      severity: "unusable",
      message: `the times of ${topic} begin again after ${again.at} of ${kept} rows, ${largestBack.toFixed(2)} s earlier: two stretches bear the same times for ${again.shared.toFixed(2)} s`,
      evidence: { topic, rows_before: again.at, step_back_s: largestBack, shared_s: again.shared },
      hint: "two recordings in one table, or parts that each count from their own start: make a log of each recording, with one clock for all its parts",
    };
  return {
    code: "stamp-backward",
    severity: largestBack > 1 || backward > 0.01 * n ? "doubt" : "note",
    message: `${backward} stamps of ${topic} are earlier than the one before, by up to ${largestBack.toFixed(3)} s; the messages were put in order`,
    evidence: { topic, count: backward, largest_step_back_s: largestBack, messages: n },
    hint: "a network that reorders packets does this by milliseconds; seconds mean a clock that was set back",
  };
}

export function zeroDropped({ topic, zeroStamps }: RecordedSignal, n: number): Check {
  return {
    code: "stamp-epoch",
    severity: "note",
    message: `${zeroStamps} of ${n} header stamps of ${topic} are zero; those messages were dropped`,
    evidence: { topic, zero: zeroStamps, messages: n },
    hint: "stamp every message where it is made",
  };
}

export function otherEpoch(signal: RecordedSignal, distance: number, ownClock: boolean): Check {
  return {
    code: "stamp-epoch",
    severity: ownClock ? "note" : "doubt",
    message: `stamps of ${signal.topic} count from another epoch than the recorder's: they differ by ${(distance / 86_400).toFixed(1)} days`,
    evidence: { topic: signal.topic, stamp_minus_receipt_s: distance },
    hint: ownClock
      ? "as it should be where its clock counts from a boot: the manifest's `clocks` say how it is joined"
      : "give this signal a clock of its own with `same_motion`, or use `stamp: log`",
  };
}

/** A step of stamp minus receipt that stays, seconds: its size, when after the first receipt, and the spread to either side of it. */
export interface SetWithin {
  readonly size: number;
  readonly at: number;
  readonly usual: number;
}
