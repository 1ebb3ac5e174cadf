import type { FolderLog } from "../../contract/inspection.ts";
import type { SignalName } from "../../foundation/signals.ts";
import type { LogDraft } from "../../report/draft/manifestDraft.ts";
import type { SignalDraft } from "../../report/draft/SignalDraft.ts";

/** A log of a folder with the signals it seems to hold. */
export interface FoundLog {
  readonly log: FolderLog;
  readonly signals: readonly SignalDraft[];
  readonly unknown: LogDraft["unknown"];
}

/** Logs that one manifest can read: of one format, with each signal in the same place. */
export interface LogKind {
  readonly format: string;
  /** where each signal stands, by the log that has the fewest */
  readonly layout: ReadonlyMap<SignalName, string>;
  readonly logs: readonly FoundLog[];
}

/**
 * The kinds of logs among those that hold any signal, the commonest first. A log that holds more than a commoner kind, and all of
 * that, is of it.
 */
export function logKinds(found: readonly FoundLog[]): LogKind[] {
  const groups = new Map<string, FoundLog[]>();
  for (const one of found) {
    if (one.signals.length === 0) continue;
    const key = JSON.stringify([one.log.format, [...layoutOf(one)].sort()]);
    const group = groups.get(key);
    if (group === undefined) groups.set(key, [one]);
    else group.push(one);
  }
  const kinds: { format: string; layout: ReadonlyMap<SignalName, string>; logs: FoundLog[] }[] = [];
  for (const logs of [...groups.values()].sort((a, b) => b.length - a.length)) {
    const format = logs[0]!.log.format ?? "";
    const layout = layoutOf(logs[0]!);
    const same = kinds.find((kind) => kind.format === format && differences(kind.layout, layout).length === 0);
    if (same === undefined) kinds.push({ format, layout, logs });
    else same.logs.push(...logs);
  }
  const place = new Map(found.map((one, k) => [one, k]));
  const inOrder = (a: FoundLog, b: FoundLog): number => place.get(a)! - place.get(b)!;
  return kinds
    .map((kind) => ({ ...kind, logs: kind.logs.sort(inOrder) }))
    .sort((a, b) => b.logs.length - a.logs.length);
}

export function hasSignal({ layout }: LogKind, signal: SignalName): boolean {
  return layout.has(signal);
}

/** Why a log is not of a kind: another format, signals it lacks, or signals that stand elsewhere in it. */
export function otherThan(kind: LogKind, one: FoundLog): string {
  const own = layoutOf(one);
  const signals = own.size === 0 ? "none of the signals" : [...own.keys()].join(", ");
  if (one.log.format !== kind.format) return `another kind (${one.log.format} with ${signals})`;
  const apart = differences(kind.layout, own);
  const lacking = apart.filter((signal) => !own.has(signal));
  if (lacking.length > 0) return `another kind (it holds ${signals}, and lacks ${lacking.join(", ")})`;
  return `another kind (elsewhere in it: ${apart.map((signal) => `${signal} by ${own.get(signal)}`).join("; ")})`;
}

/** Signals of a layout that another lacks or has elsewhere. */
function differences(
  layout: ReadonlyMap<SignalName, string>,
  other: ReadonlyMap<SignalName, string>,
): readonly SignalName[] {
  return [...layout].flatMap(([signal, place]) => (other.get(signal) === place ? [] : [signal]));
}

/**
 * Of two places for one signal the first, as in the draft. Where a body's markers are is measured anew in every file: their
 * labels alone say which they are.
 */
function layoutOf({ signals }: FoundLog): ReadonlyMap<SignalName, string> {
  return new Map(
    [...signals]
      .reverse()
      .map(({ signal, parts }) => [
        signal,
        parts.map((part) => (part.startsWith("markers:") ? part.replace(/: \[[^\]]*\]/g, "") : part)).join(", "),
      ]),
  );
}
