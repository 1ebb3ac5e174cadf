import type { CommandShape, DraftSummary } from "../../contract/inspection.ts";
import type { CampaignSketch, LogDraft, RunDraft } from "../../report/draft/CampaignSketch.ts";
import { manifestDraft } from "../../report/draft/manifestDraft.ts";
import type { SignalDraft } from "../../report/draft/SignalDraft.ts";
import { summariseDraft } from "../../report/draft/summariseDraft.ts";
import { agreeOnRoles, type OddRole } from "./agreeOnRoles.ts";
import type { FoundLog } from "./foundLog.ts";
import { groupShapes } from "./groupShapes.ts";
import { apartIn, hasSignal, type LogKind, logKinds, otherThan, signalsOf } from "./logKinds.ts";
import { type LogPairs, pairLogs } from "./pairLogs.ts";
import { splitNames } from "./splitNames.ts";

/** The text of a manifest, and what stands in it. */
export interface Draft {
  readonly manifest: string;
  readonly summary: DraftSummary;
}

/** What a draft needs beside the logs. */
export interface DraftPlace {
  /** what the campaign may be called */
  readonly title: string;
  /** from the manifest to the folder of the logs; "" where it lies in it */
  readonly prefix: string;
  /** folders of .msg files that the logs need, as the manifest names them */
  readonly definitions: readonly string[];
}

/**
 * The draft of a folder's campaign. One manifest reads one kind of log, or a capture and an onboard log of each flight; whichever
 * makes more runs is drafted, and every log that is none of them stands as a comment that says why.
 */
export function folderDraft(given: readonly FoundLog[], place: DraftPlace): Draft {
  const { logs: all, odd } = agreeOnRoles(given);
  const isSound = ({ log }: FoundLog): boolean => log.error === null && log.same_as === null;
  const still = all.filter((one) => one.still && isSound(one));
  const found = all.filter((one) => !still.includes(one));
  const sound = found.filter(isSound);
  // a folder of nothing but static captures is no flight day: a person may see what they are
  if (sound.length === 0 && still.length > 0)
    return draftOfOne(all, logKinds(still)[0] ?? null, { statics: [], odd, place });
  const context = { statics: still.map(({ log }) => log.path), odd, place };
  const kinds = logKinds(sound);
  const alone = kinds.find((kind) => hasSignal(kind, "vehicle_pose") && hasSignal(kind, "vehicle_setpoint"));
  const two = twoRecorders(kinds);
  return two !== null && (alone === undefined || outweighs(two, alone))
    ? draftOfPairs(found, two, context)
    : draftOfOne(found, alone ?? kinds[0] ?? null, context);
}

interface Context {
  readonly statics: readonly string[];
  readonly odd: readonly OddRole[];
  readonly place: DraftPlace;
}

/**
 * Whether captures belong to logs that would do alone. A pose in an onboard log is the vehicle's own estimate where there is a
 * capture for it; a few logs of poses beside many whole ones are static captures.
 */
function outweighs({ capture, onboard, found }: TwoRecorders, alone: LogKind): boolean {
  return onboard === alone ? 2 * capture.logs.length >= alone.logs.length : found.pairs.length >= alone.logs.length;
}

function draftOfOne(found: readonly FoundLog[], kind: LogKind | null, context: Context): Draft {
  const logs = kind?.logs ?? found.filter(({ log }) => log.error === null && log.same_as === null);
  const runs = logs.flatMap((one) => flightsOf(one, kind, context));
  const rest = found.filter((one) => !logs.includes(one));
  const left = rest.map((one) => leftOut(one, kind === null ? "another kind" : otherThan(kind, one)));
  const signals = kind === null ? [] : signalsOf(kind);
  const draft = { name: null, isTable: isTable(logs[0]), signals, unknown: logs[0]?.unknown ?? [] };
  const sights = new Set(logs.map(({ sight }) => sight));
  const sight = (["vehicle_rate", "vehicle_estimate"] as const).find((each) => sights.has(each)) ?? null;
  return campaignDraft([draft], runs, left, { ...context, pairedBy: null, sight });
}

/** One run a flight. */
function flightsOf(one: FoundLog, kind: LogKind | null, { odd }: Context): FlownRun[] {
  const words = [
    ...(kind === null ? [] : [apartIn(kind, one)]),
    ...odd.filter(({ log }) => log === one).map((each) => each.words),
  ].filter((each) => each !== null);
  return one.flights.map(({ span, shape }) => ({
    logs: [{ name: null, path: one.log.path }],
    start: one.log.start,
    span,
    shape,
    words,
  }));
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
  context: Context,
): Draft {
  const runs = pairs.map(([one, other]): FlownRun => {
    const words = [apartIn(capture, one), apartIn(onboard, other)].filter((each) => each !== null);
    return {
      logs: [
        { name: "mocap", path: one.log.path },
        { name: "onboard", path: other.log.path },
      ],
      start: one.log.start,
      // of logs that hold several flights each, only a person can say which go together
      span: null,
      shape: other.flights.length === 1 ? other.flights[0]!.shape : null,
      words:
        other.flights.length === 1
          ? words
          : [...words, `${other.flights.length} flights in one log: give each its span`],
    };
  });
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
  return campaignDraft(drafts, runs, left, { ...context, pairedBy: pairs.length === 0 ? null : by, sight: null });
}

function isTable(found: FoundLog | undefined): boolean {
  return found?.log.format === "table" || found?.log.format === "Parquet";
}

/** A run before it is filed. */
interface FlownRun extends Pick<RunDraft, "logs" | "span"> {
  readonly start: string | null;
  readonly shape: CommandShape | null;
  readonly words: readonly string[];
}

/** Files the runs by what was commanded, by day, and by what their names tell of their configurations. */
function campaignDraft(
  logs: readonly LogDraft[],
  runs: readonly FlownRun[],
  left: readonly LeftOut[],
  { statics, place, pairedBy, sight }: Context & { pairedBy: string | null; sight: FoundLog["sight"] },
): Draft {
  const groups = groupShapes(runs.map(({ shape }) => shape));
  const trajectories = runs.map((_, k) => groups.find((group) => group.runs.includes(k))!);
  const blocks = runs.map((run) => dayOf(run));
  const ways = [trajectories.map(({ name }) => name), blocks.map((block) => block ?? "")];
  const splits = logs.map((_, which) =>
    splitNames(
      runs.map((run) => run.logs[which]!.path),
      ways,
    ),
  );
  const split = splits.find((each) => each !== null) ?? null;
  const at = (path: string): string => (place.prefix === "" ? path : `${place.prefix}/${path}`);
  const flown = new Map<string, number>();
  const sketch: CampaignSketch = {
    title: place.title,
    definitions: place.definitions,
    logs,
    configurations: split === null ? null : { names: [...new Set(split.words)], baseline: split.baseline },
    trajectories: groups,
    runs: runs.map(({ logs: of, span, start, words }, k) => {
      const path = of[0]!.path;
      const count = (flown.get(path) ?? 0) + 1;
      flown.set(path, count);
      const apart = trajectories[k]!.apart.get(k);
      return {
        logs: of.map(({ name, path: own }) => ({ name, path: at(own) })),
        id: span === null ? null : `${stemOf(path)}-${count}`,
        span,
        configuration: split?.words[k] ?? null,
        trajectory: trajectories[k]!.name,
        block: blocks[k]!,
        started: span === null ? startOf(start) : null,
        remark: [...words, ...(apart === undefined ? [] : [apart])].join("; ") || null,
      };
    }),
    left: left.map(({ path, why }) => ({ path: at(path), why })),
    statics: statics.map(at),
    pairedBy,
    sight,
  };
  const manifest = manifestDraft(sketch);
  return { manifest, summary: summariseDraft(sketch, manifest) };
}

function stemOf(path: string): string {
  return (path.split(/[/\\]/).at(-1) ?? path).replace(/(?<=.)\.[^.]*$/, "");
}

/** A log that is no run, and why. */
interface LeftOut {
  readonly path: string;
  readonly why: string;
}

function leftOut({ log }: FoundLog, why: string): LeftOut {
  return { path: log.path, why: log.same_as !== null ? `the same bytes as ${log.same_as}` : (log.error ?? why) };
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

/** The day of a log that begins at a date or bears one in its name: what suggests itself as a block. */
function dayOf({ start, logs }: FlownRun): string | null {
  const begun = startOf(start);
  if (begun !== null) return `day-${begun.slice(0, 10)}`;
  const found = /(20\d\d)[-_.]?(\d\d?)[-_.]?(\d\d?)(?!\d)/.exec(logs.map(({ path }) => path).join(" "));
  if (found === null) return null;
  const [year, month, day] = found.slice(1).map(Number);
  const isDate = month! >= 1 && month! <= 12 && day! >= 1 && day! <= 31;
  return isDate ? `day-${year}-${String(month).padStart(2, "0")}-${String(day).padStart(2, "0")}` : null;
}

/** ISO 8601; null for a log that counts from its own start. */
function startOf(start: string | null): string | null {
  const milliseconds = start === null ? 0 : Number(BigInt(start) / 1_000_000n);
  return milliseconds > 1e12 && milliseconds < 8.64e15 ? `${new Date(milliseconds).toISOString().slice(0, 19)}Z` : null;
}
