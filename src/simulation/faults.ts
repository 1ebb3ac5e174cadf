import type { SignalName } from "../foundation/tracks.ts";
import type { Seconds, Vector3 } from "../foundation/units.ts";
import { type Draft, filterDraft, mapColumns } from "./draft.ts";

/** Times are seconds after the recording's start on the onboard clock; spans are half open. */
interface Span {
  readonly at: Seconds;
  readonly seconds: Seconds;
}
type Body = "vehicle_pose" | "effector_pose";

/** What can be wrong with a log, on demand. */
export type Fault =
  /** the last pose before `at` is repeated while stamps go on */
  | ({ readonly kind: "frozen"; readonly signal: Body } & Span)
  /** messages missing */
  | ({ readonly kind: "gap"; readonly signals: readonly SignalName[] } & Span)
  /** position and quaternion zero, or position zero and level attitude */
  | ({ readonly kind: "zeroed"; readonly signal: Body; readonly attitude: "zero" | "level" } & Span)
  | ({ readonly kind: "bad-quaternion"; readonly signal: Body; readonly value: "nan" | "zero" | "long" } & Span)
  /** straight line between the poses at both ends */
  | ({ readonly kind: "interpolated"; readonly signal: Body } & Span)
  /** displaced for a while, then back */
  | ({ readonly kind: "jump"; readonly signal: Body; readonly by: Vector3 } & Span)
  /** the two bodies under each other's name */
  | ({ readonly kind: "swap" } & Span)
  /** each second message carries the stamp of the one before */
  | ({ readonly kind: "duplicate-stamps"; readonly signal: SignalName } & Span)
  /** stamps set back by `by` */
  | ({ readonly kind: "backward-stamps"; readonly signal: SignalName; readonly by: Seconds } & Span)
  /** stamps as if the clock had started at 1970 */
  | { readonly kind: "stamps-1970"; readonly signal: SignalName }
  | { readonly kind: "zero-stamps"; readonly signal: SignalName }
  /** nothing is received after this instant; `cycle` counts from 0 and may be a fraction */
  | { readonly kind: "truncated"; readonly cycle: number }
  | { readonly kind: "missing"; readonly signal: SignalName }
  /** gyro mounted or logged wrongly: column i of the log is `sign[i]` times true axis `axis[i]` */
  | { readonly kind: "gyro-axes"; readonly axis: readonly [number, number, number]; readonly sign: Vector3 };

/** When cycle k (counted from 0) starts. */
export type CycleClock = (cycle: number) => Seconds;

/** The signals with the faults done to them, in order. A fault of a signal that is not there does nothing. */
export function applyFaults(drafts: readonly Draft[], faults: readonly Fault[], cycleTime: CycleClock): Draft[] {
  return faults.reduce<Draft[]>((now, fault) => applyFault(now, fault, cycleTime), [...drafts]);
}

function applyFault(drafts: Draft[], fault: Fault, cycleTime: CycleClock): Draft[] {
  const change = (signal: SignalName, by: (draft: Draft) => Draft): Draft[] =>
    drafts.map((draft) => (draft.signal === signal ? by(draft) : draft));
  switch (fault.kind) {
    case "frozen":
      return change(fault.signal, (draft) => freeze(draft, fault));
    case "gap":
      return drafts.map((draft) =>
        fault.signals.includes(draft.signal) ? filterDraft(draft, (i) => !within(draft, fault, i)) : draft,
      );
    case "zeroed":
      return change(fault.signal, (draft) =>
        overwrite(draft, fault, (name) => (name === "qw" && fault.attitude === "level" ? 1 : 0)),
      );
    case "bad-quaternion":
      return change(fault.signal, (draft) =>
        overwrite(draft, fault, (name, value) => {
          if (!name.startsWith("q")) return value;
          return fault.value === "nan" ? Number.NaN : fault.value === "zero" ? 0 : value * 1.7;
        }),
      );
    case "interpolated":
      return change(fault.signal, (draft) => interpolate(draft, fault));
    case "jump":
      return change(fault.signal, (draft) =>
        overwrite(draft, fault, (name, value) => value + (fault.by["xyz".indexOf(name)] ?? 0)),
      );
    case "swap":
      return swap(drafts, fault);
    case "duplicate-stamps":
      return change(fault.signal, (draft) =>
        restamp(draft, (seconds, i) => {
          // counted from the span's start so that pairs form inside it
          const inside = within(draft, fault, i) && i > 0 && within(draft, fault, i - 1);
          return inside && (i - firstOf(draft, fault)) % 2 === 1 ? seconds[i - 1]! : seconds[i]!;
        }),
      );
    case "backward-stamps":
      return change(fault.signal, (draft) =>
        restamp(draft, (seconds, i) => seconds[i]! - (within(draft, fault, i) ? fault.by : 0)),
      );
    case "stamps-1970":
      return change(fault.signal, (draft) => ({ ...draft, stamped: { ...draft.stamped, epoch: 0n } }));
    case "zero-stamps":
      return change(fault.signal, (draft) => restamp(draft, () => Number.NaN));
    case "truncated": {
      const end = cycleTime(fault.cycle);
      return drafts.map((draft) => filterDraft(draft, (i) => draft.received[i]! < end));
    }
    case "missing":
      return drafts.filter((draft) => draft.signal !== fault.signal);
    case "gyro-axes":
      return change("vehicle_rate", (draft) => ({
        ...draft,
        columns: mapColumns(draft, (_, name) => {
          const i = ["wx", "wy", "wz"].indexOf(name);
          const source = draft.columns[["wx", "wy", "wz"][fault.axis[i]!]!]!;
          return source.map((value) => fault.sign[i]! * value);
        }),
      }));
  }
}

function within(draft: Draft, span: Span, index: number): boolean {
  const t = draft.time[index]!;
  return t >= span.at && t < span.at + span.seconds;
}

function firstOf(draft: Draft, span: Span): number {
  return draft.time.findIndex((t) => t >= span.at);
}

function overwrite(draft: Draft, span: Span, value: (name: string, before: number) => number): Draft {
  return {
    ...draft,
    columns: mapColumns(draft, (column, name) =>
      column.map((before, i) => (within(draft, span, i) ? value(name, before) : before)),
    ),
  };
}

function freeze(draft: Draft, span: Span): Draft {
  const last = Math.max(0, firstOf(draft, span) - 1);
  return overwrite(draft, span, (name) => draft.columns[name]![last]!);
}

function interpolate(draft: Draft, span: Span): Draft {
  const from = Math.max(0, firstOf(draft, span) - 1);
  const after = draft.time.findIndex((t) => t >= span.at + span.seconds);
  const to = after < 0 ? draft.time.length - 1 : after;
  const straight = mapColumns(draft, (column) =>
    column.map((before, i) =>
      within(draft, span, i) ? column[from]! + ((column[to]! - column[from]!) * (i - from)) / (to - from) : before,
    ),
  );
  const length = straight.qx!.map((x, i) => Math.hypot(x, straight.qy![i]!, straight.qz![i]!, straight.qw![i]!));
  return {
    ...draft,
    columns: mapColumns(draft, (_, name) =>
      straight[name]!.map((value, i) => (name.startsWith("q") && within(draft, span, i) ? value / length[i]! : value)),
    ),
  };
}

function swap(drafts: Draft[], span: Span): Draft[] {
  const vehicle = drafts.find((draft) => draft.signal === "vehicle_pose");
  const effector = drafts.find((draft) => draft.signal === "effector_pose");
  if (!vehicle || !effector) return drafts;
  const take = (own: Draft, other: Draft): Draft => ({
    ...own,
    columns: mapColumns(own, (column, name) =>
      column.map((value, i) => (within(own, span, i) ? (other.columns[name]![i] ?? value) : value)),
    ),
  });
  return drafts.map((draft) =>
    draft === vehicle ? take(vehicle, effector) : draft === effector ? take(effector, vehicle) : draft,
  );
}

function restamp(draft: Draft, value: (seconds: Float64Array, index: number) => number): Draft {
  const { seconds } = draft.stamped;
  return { ...draft, stamped: { ...draft.stamped, seconds: seconds.map((_, i) => value(seconds, i)) } };
}
