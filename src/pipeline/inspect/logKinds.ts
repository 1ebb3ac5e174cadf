import { logKind } from "../../catalogue/logFormats.ts";
import type { SignalName } from "../../foundation/tracks.ts";
import type { SignalDraft } from "../../report/draft/CampaignSketch.ts";
import type { FoundLog } from "./foundLog.ts";

/** Where each signal stands in a log. */
type Layout = ReadonlyMap<SignalName, string>;

/** Logs that one manifest can read: of one family of formats, with what is scored in the same place. */
export interface LogKind {
  readonly format: string;
  /** what is scored, in every one of the logs; then what else half of them or more have in one place */
  readonly layout: Layout;
  readonly logs: readonly FoundLog[];
}

/** What an error is made of; the other signals are of help. */
const scored: readonly SignalName[] = ["vehicle_pose", "effector_pose", "vehicle_setpoint", "effector_command"];

/**
 * The kinds of logs among those that hold any signal, the commonest first. A log that holds more of what is scored than a
 * commoner kind, and all of that, is of it.
 */
export function logKinds(found: readonly FoundLog[]): LogKind[] {
  const groups = new Map<string, FoundLog[]>();
  for (const one of found) {
    if (one.signals.length === 0) continue;
    const key = JSON.stringify([familyOf(one), [...coreOf(one)].sort()]);
    const group = groups.get(key);
    if (group === undefined) groups.set(key, [one]);
    else group.push(one);
  }
  const kinds: { format: string; core: Layout; logs: FoundLog[] }[] = [];
  for (const logs of [...groups.values()].sort((a, b) => b.length - a.length)) {
    const format = familyOf(logs[0]!);
    const core = coreOf(logs[0]!);
    const same = kinds.find(
      (kind) => kind.format === format && isScored(kind.core) && differences(kind.core, core).length === 0,
    );
    if (same === undefined) kinds.push({ format, core, logs });
    else same.logs.push(...logs);
  }
  const place = new Map(found.map((one, k) => [one, k]));
  return kinds
    .map(({ format, core, logs }) => ({
      format,
      layout: new Map([...core, ...usual(logs)]),
      logs: logs.sort((a, b) => place.get(a)! - place.get(b)!),
    }))
    .sort((a, b) => b.logs.length - a.logs.length);
}

/** Logs of messages are read alike whatever holds them: of equal topics they are of one kind. */
export function familyOf({ log: { format } }: FoundLog): string {
  return logKind(format) === "messages" ? "messages" : (format ?? "");
}

export function hasSignal({ layout }: LogKind, signal: SignalName): boolean {
  return layout.has(signal);
}

/** The signals of a kind's draft: of one log, so that their clocks compare, and of the log that shows most of them. */
export function signalsOf({ layout, logs }: LogKind): readonly SignalDraft[] {
  const shown = logs.map((one) => {
    const own = layoutOf(one);
    return one.signals.filter(({ signal }) => layout.has(signal) && own.get(signal) === layout.get(signal));
  });
  return shown.reduce((most, signals) => (signals.length > most.length ? signals : most), []);
}

/** Why a log is not of a kind: another format, signals it lacks, or signals that stand elsewhere in it. */
export function otherThan(kind: LogKind, one: FoundLog): string {
  const own = layoutOf(one);
  const signals = own.size === 0 ? "none of the signals" : [...own.keys()].join(", ");
  if (familyOf(one) !== kind.format) return `another kind (${one.log.format} with ${signals})`;
  return `another kind (it holds ${signals}; ${apartIn(kind, one)})`;
}

/** What a log lacks of its kind's layout or has elsewhere, in words; null where it has all. */
export function apartIn({ layout }: LogKind, one: FoundLog): string | null {
  const own = layoutOf(one);
  const apart = differences(layout, own);
  const lacking = apart.filter((signal) => !own.has(signal));
  const elsewhere = apart.filter((signal) => own.has(signal)).map((signal) => `${signal} by ${own.get(signal)}`);
  const words = [
    ...(lacking.length > 0 ? [`without ${lacking.join(", ")}`] : []),
    ...(elsewhere.length > 0 ? [`elsewhere: ${elsewhere.join("; ")}`] : []),
  ];
  return words.length === 0 ? null : words.join("; ");
}

/** Signals of a layout that another lacks or has elsewhere. */
function differences(layout: Layout, other: Layout): readonly SignalName[] {
  return [...layout].flatMap(([signal, place]) => (other.get(signal) === place ? [] : [signal]));
}

function isScored(layout: Layout): boolean {
  return scored.some((signal) => layout.has(signal));
}

/** What tells a log's kind: what is scored of it, else all it has. */
function coreOf(one: FoundLog): Layout {
  const all = layoutOf(one);
  return isScored(all) ? new Map([...all].filter(([signal]) => scored.includes(signal))) : all;
}

/** What is of help and stands in one place in at least half of the logs. */
function usual(logs: readonly FoundLog[]): [SignalName, string][] {
  const counts = new Map<string, { readonly entry: [SignalName, string]; count: number }>();
  for (const one of logs)
    for (const entry of layoutOf(one)) {
      if (scored.includes(entry[0])) continue;
      const key = entry.join(" ");
      const known = counts.get(key);
      if (known === undefined) counts.set(key, { entry, count: 1 });
      else known.count++;
    }
  const often = [...counts.values()].filter(({ count }) => 2 * count >= logs.length);
  // of two places the commoner counts, of two that are equally common the first: the last entry stays in a map
  return often
    .reverse()
    .sort((a, b) => a.count - b.count)
    .map(({ entry }) => entry);
}

/** Of two places for one signal the first, as in the draft. */
function layoutOf({ signals }: FoundLog): Layout {
  return new Map([...signals].reverse().map(({ signal, place }) => [signal, place]));
}
