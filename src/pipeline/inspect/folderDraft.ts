import type { FolderLog } from "../../contract/inspection.ts";
import { type LogDraft, manifestDraft, type RunDraft } from "../../report/draft/manifestDraft.ts";
import type { SignalDraft } from "../../report/draft/SignalDraft.ts";

/** A log of a folder with the signals it seems to hold. */
export interface FoundLog {
  readonly log: FolderLog;
  readonly signals: readonly SignalDraft[];
  readonly unknown: LogDraft["unknown"];
}

/**
 * Logs that hold the same kinds of signals are of one kind. Where there is one kind, each log is a run; where there are two of
 * equal number, they are paired in order (capture and onboard log of each flight); else the commonest kind makes the runs.
 */
export function folderDraft(found: readonly FoundLog[]): string {
  const sound = found.filter(({ log }) => log.error === null && log.same_as === null);
  const kinds = new Map<string, (typeof sound)[number][]>();
  for (const one of sound) {
    const key = `${one.log.format} ${one.signals
      .map(({ signal }) => signal)
      .sort()
      .join(" ")}`;
    kinds.set(key, [...(kinds.get(key) ?? []), one]);
  }
  const ordered = [...kinds.values()].filter(([one]) => one!.signals.length > 0).sort((a, b) => b.length - a.length);
  const [first = sound, second] = ordered;
  const pair = second !== undefined && second.length === first.length ? asPair(first, second) : null;
  const kindsUsed = pair ?? [first];
  const names = pair === null ? [null] : ["mocap", "onboard"];
  const main = kindsUsed[0]!;
  const runs: RunDraft[] = main.map(({ log }, k) => ({
    logs: kindsUsed.map((kind, n) => ({ name: names[n]!, path: kind[k]!.log.path })),
    configuration: null,
    block: dayOf(log.start),
    left: null,
  }));
  const used = new Set(kindsUsed.flat().map(({ log }) => log.path));
  const left = found
    .filter(({ log }) => !used.has(log.path))
    .map(
      ({ log }): RunDraft => ({
        logs: [{ name: null, path: log.path }],
        configuration: null,
        block: null,
        left: log.same_as !== null ? `the same bytes as ${log.same_as}` : (log.error ?? "holds other signals"),
      }),
    );
  const drafts = kindsUsed.map((kind, n): LogDraft => {
    const { signals = [], unknown = [] } = kind[0] ?? {};
    return { name: names[n]!, signals: pair === null ? signals : shareOf(signals, n === 0), unknown };
  });
  return manifestDraft(drafts, [...runs, ...left]);
}

type Kind = readonly {
  readonly log: FolderLog;
  readonly signals: readonly SignalDraft[];
  readonly unknown: LogDraft["unknown"];
}[];

/** Two kinds go together where one holds poses but no setpoint, the capture, and the other has the setpoint. */
function asPair(a: Kind, b: Kind): readonly [Kind, Kind] | null {
  const has = (kind: Kind, signal: SignalDraft["signal"]): boolean =>
    kind[0]?.signals.some((draft) => draft.signal === signal) === true;
  const isCapture = (kind: Kind): boolean => has(kind, "vehicle_pose") && !has(kind, "vehicle_setpoint");
  if (isCapture(a) && has(b, "vehicle_setpoint")) return [a, b];
  return isCapture(b) && has(a, "vehicle_setpoint") ? [b, a] : null;
}

/** Of a pair the capture gives the poses and the other all else; what the other takes for the vehicle's pose is its estimate. */
function shareOf(signals: readonly SignalDraft[], isCapture: boolean): readonly SignalDraft[] {
  const poses: readonly string[] = ["vehicle_pose", "effector_pose"];
  if (isCapture) return signals.filter(({ signal }) => poses.includes(signal));
  const hasEstimate = signals.some(({ signal }) => signal === "vehicle_estimate");
  return signals.flatMap((draft) =>
    !poses.includes(draft.signal)
      ? [draft]
      : draft.signal === "vehicle_pose" && !hasEstimate
        ? [{ ...draft, signal: "vehicle_estimate" as const }]
        : [],
  );
}

/** The day of a log that begins at a date: what suggests itself as a block. */
function dayOf(start: string | null): string | null {
  const milliseconds = start === null ? 0 : Number(BigInt(start) / 1_000_000n);
  return milliseconds > 1e12 && milliseconds < 8.64e15
    ? `day-${new Date(milliseconds).toISOString().slice(0, 10)}`
    : null;
}
