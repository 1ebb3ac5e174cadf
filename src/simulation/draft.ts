import type { RecordedSignal, StampColumn } from "../foundation/recording.ts";
import type { SignalName } from "../foundation/tracks.ts";

/** A signal before it is recorded: it still knows the true instants, which faults are aimed by. */
export interface Draft {
  readonly signal: SignalName;
  readonly topic: string;
  readonly type: string;
  readonly frameId: string;
  /** true instants, seconds after the recording's start, onboard clock */
  readonly time: Float64Array;
  /** receipt, seconds after the recording's start, onboard clock */
  readonly received: Float64Array;
  readonly stamped: StampColumn;
  readonly columns: Readonly<Record<string, Float64Array>>;
}

/** The signal with only the messages that `keep` wants, by index. */
export function filterDraft(draft: Draft, keep: (index: number) => boolean): Draft {
  const pick = (column: Float64Array): Float64Array => column.filter((_, index) => keep(index));
  return {
    ...draft,
    time: pick(draft.time),
    received: pick(draft.received),
    stamped: { ...draft.stamped, seconds: pick(draft.stamped.seconds) },
    columns: mapColumns(draft, pick),
  };
}

/** The columns, each passed through `change`. */
export function mapColumns(
  draft: Draft,
  change: (column: Float64Array, name: string) => Float64Array,
): Record<string, Float64Array> {
  return Object.fromEntries(Object.entries(draft.columns).map(([name, column]) => [name, change(column, name)]));
}

/** The signal as a reader would give it. */
export function recordDraft(draft: Draft, start: bigint): RecordedSignal {
  return {
    signal: draft.signal,
    topic: draft.topic,
    type: draft.type,
    frameId: draft.frameId,
    received: { epoch: start, seconds: draft.received },
    stamped: draft.stamped,
    zeroStamps: draft.stamped.seconds.reduce((count, value) => count + (Number.isNaN(value) ? 1 : 0), 0),
    columns: draft.columns,
    given: {},
  };
}
