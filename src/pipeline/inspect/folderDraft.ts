import { type LogDraft, manifestDraft, type RunDraft } from "../../report/draft/manifestDraft.ts";
import type { SignalDraft } from "../../report/draft/SignalDraft.ts";
import type { FoundLog } from "./foundLog.ts";
import { apartIn, hasSignal, type LogKind, logKinds, otherThan, signalsOf } from "./logKinds.ts";
import { type LogPairs, pairLogs } from "./pairLogs.ts";

/**
 * The draft of a folder's campaign. One manifest reads one kind of log, or a capture and an onboard log of each flight; whichever
 * makes more runs is drafted, and every log that is none of them stands as a comment that says why.
 */
export function folderDraft(all: readonly FoundLog[]): string {
  const isSound = ({ log }: FoundLog): boolean => log.error === null && log.same_as === null;
  const still = all.filter((one) => one.still === true && isSound(one));
  const found = all.filter((one) => !still.includes(one));
  const sound = found.filter(isSound);
  // a folder of nothing but static captures is no flight day: a person may see what they are
  if (sound.length === 0 && still.length > 0) return draftOfOne(all, logKinds(still)[0] ?? null, []);
  const statics = still.map(({ log }) => log.path);
  const kinds = logKinds(sound);
  const alone = kinds.find((kind) => hasSignal(kind, "vehicle_pose") && hasSignal(kind, "vehicle_setpoint"));
  const two = twoRecorders(kinds);
  return two !== null && (alone === undefined || outweighs(two, alone))
    ? draftOfPairs(found, two, statics)
    : draftOfOne(found, alone ?? kinds[0] ?? null, statics);
}

/**
 * Whether captures belong to logs that would do alone. A pose in an onboard log is the vehicle's own estimate where there is a
 * capture for it; a few logs of poses beside many whole ones are static captures.
 */
function outweighs({ capture, onboard, found }: TwoRecorders, alone: LogKind): boolean {
  return onboard === alone ? 2 * capture.logs.length >= alone.logs.length : found.pairs.length >= alone.logs.length;
}

function draftOfOne(found: readonly FoundLog[], kind: LogKind | null, statics: readonly string[]): string {
  const logs = kind?.logs ?? found.filter(({ log }) => log.error === null && log.same_as === null);
  const runs = logs.map((one) => runOf([[null, one]], kind === null ? [] : [kind]));
  const rest = found.filter((one) => !logs.includes(one));
  const left = rest.map((one) => leftOut(one, kind === null ? "another kind" : otherThan(kind, one)));
  const signals = kind === null ? [] : signalsOf(kind);
  const draft = { name: null, isTable: isTable(logs[0]), signals, unknown: logs[0]?.unknown ?? [] };
  return manifestDraft([draft], [...runs, ...left], { pairedBy: null, statics });
}

/** A capture that holds poses but no setpoint, and an onboard log that has it. */
interface TwoRecorders {
  readonly capture: LogKind;
  readonly onboard: LogKind;
  readonly found: LogPairs;
}

/** Of all kinds that could go together, those that make the most pairs. */
function twoRecorders(kinds: readonly LogKind[]): TwoRecorders | null {
  const captures = kinds.filter((kind) => hasSignal(kind, "vehicle_pose") && !hasSignal(kind, "vehicle_setpoint"));
  const others = kinds.filter((kind) => hasSignal(kind, "vehicle_setpoint"));
  let best: TwoRecorders | null = null;
  for (const capture of captures)
    for (const onboard of others) {
      const found = pairLogs(capture.logs, onboard.logs);
      if (best === null || found.pairs.length > best.found.pairs.length) best = { capture, onboard, found };
    }
  return best;
}

function draftOfPairs(
  found: readonly FoundLog[],
  { capture, onboard, found: { pairs, by } }: TwoRecorders,
  statics: readonly string[],
): string {
  const runs = pairs.map(([one, other]) =>
    runOf(
      [
        ["mocap", one],
        ["onboard", other],
      ],
      [capture, onboard],
    ),
  );
  const paired = new Set(pairs.flat());
  const uncertain = pairs.length === 0 ? ": neither times nor names tell which" : "";
  const left = found
    .filter((one) => !paired.has(one))
    .map((one) =>
      leftOut(
        one,
        capture.logs.includes(one)
          ? `a capture without the onboard log of its flight${uncertain}`
          : onboard.logs.includes(one)
            ? `an onboard log without the capture of its flight${uncertain}`
            : otherThan(one.signals.some(({ signal }) => signal === "vehicle_setpoint") ? onboard : capture, one),
      ),
    );
  const drafts = ([capture, onboard] as const).map((kind): LogDraft => {
    const isCapture = kind === capture;
    const signals = shareOf(signalsOf(kind), isCapture);
    const [first] = kind.logs;
    return { name: isCapture ? "mocap" : "onboard", isTable: isTable(first), signals, unknown: first!.unknown };
  });
  return manifestDraft(drafts, [...runs, ...left], { pairedBy: pairs.length === 0 ? null : by, statics });
}

function isTable(found: FoundLog | undefined): boolean {
  return found?.log.format === "table" || found?.log.format === "Parquet";
}

/** @param kinds  of its logs, in their order */
function runOf(logs: readonly (readonly [string | null, FoundLog])[], kinds: readonly LogKind[]): RunDraft {
  const apart = kinds.map((kind, k) => apartIn(kind, logs[k]![1])).filter((words) => words !== null);
  return {
    logs: logs.map(([name, { log }]) => ({ name, path: log.path })),
    configuration: null,
    block: dayOf(logs[0]![1].log.start),
    left: null,
    remark: apart.length === 0 ? null : apart.join("; "),
  };
}

function leftOut({ log }: FoundLog, why: string): RunDraft {
  return {
    logs: [{ name: null, path: log.path }],
    configuration: null,
    block: null,
    left: log.same_as !== null ? `the same bytes as ${log.same_as}` : (log.error ?? why),
    remark: null,
  };
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
