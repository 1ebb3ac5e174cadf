import { logKind } from "../../catalogue/logFormats.ts";
import { median } from "../../numeric/descriptive.ts";
import type { LogDraft, SignalDraft } from "../../report/draft/CampaignSketch.ts";
import { captureWords } from "../../report/draft/candidates.ts";
import { withWorldDown } from "../../report/draft/draftSignals.ts";
import { agreeOnRoles, type OddRole } from "./agreeOnRoles.ts";
import { campaignDraft, type Draft, type DraftPlace, type FlownRun, type LeftOut } from "./campaignDraft.ts";
import type { FoundLog } from "./foundLog.ts";
import { apartIn, hasSignal, type LogKind, logKinds, otherThan, signalsOf } from "./logKinds.ts";
import { type LogPairs, overlap, pairLogs } from "./pairLogs.ts";
import type { RunsTable } from "./runsTable.ts";

/**
 * The draft of a folder's campaign. One manifest reads one kind of log, or a capture and an onboard log of each flight; whichever
 * makes more runs is drafted, and every log that is none of them stands as a comment that says why.
 */
export function folderDraft(given: readonly FoundLog[], place: DraftPlace, table: RunsTable | null = null): Draft {
  const { logs: all, odd } = agreeOnRoles(given);
  const isSound = ({ log }: FoundLog): boolean => log.error === null && log.same_as === null;
  const still = all.filter((one) => one.still && isSound(one));
  const found = all.filter((one) => !still.includes(one));
  const sound = found.filter(isSound);
  // a folder of nothing but static captures is no flight day: a person may see what they are
  if (sound.length === 0 && still.length > 0)
    return draftOfOne(all, logKinds(still)[0] ?? null, { statics: [], odd, place, table });
  const context = { statics: still.map(({ log }) => log.path), odd, place, table };
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
  /** a table of runs that lies beside the logs; null: there is none */
  readonly table: RunsTable | null;
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
  const runs = logs.flatMap((one, k) => {
    const twin = logs.slice(0, k).find((other) => overlap(one, other));
    return flightsOf(one, kind, twin ?? null, context);
  });
  const rest = found.filter((one) => !logs.includes(one));
  const left = rest.map((one) => leftOut(one, kind === null ? "another kind" : otherThan(kind, one)));
  const up = upOfLogs(logs);
  const shown = kind === null ? [] : signalsOf(kind);
  const signals = up === "down" ? withWorldDown(shown) : shown;
  const draft = {
    name: null,
    isTable: isTable(logs[0]),
    isPoints: isPoints(logs[0]),
    signals,
    unknown: logs[0]?.unknown ?? [],
  };
  const sights = new Set(logs.map((each) => each.sight));
  const seen = (["vehicle_rate", "vehicle_estimate"] as const).find((each) => sights.has(each)) ?? null;
  const sight = draft.isTable && !showsOffset(logs) ? null : seen;
  const gyroApart = !sights.has("vehicle_rate") && logs.some((each) => each.gyroApart);
  return campaignDraft([draft], runs, left, { ...context, pairedBy: null, sight, gyroApart, up });
}

/** Seconds; what was put into one table by its maker shares the table's clock unless the gyro knows better: half of the 4 ms that are 1 mm at
 * 0.25 m/s, for how the clocks drift has to be found as well. */
const wellKnown = 0.002;

function showsOffset(logs: readonly FoundLog[]): boolean {
  const errors = logs.flatMap(({ offsetError }) => offsetError ?? []);
  return errors.length > 0 && median(Float64Array.from(errors)) <= wellKnown;
}

/** One run a flight. */
function flightsOf(one: FoundLog, kind: LogKind | null, twin: FoundLog | null, { odd }: Context): FlownRun[] {
  const words = [
    // one vehicle flies once at a time
    twin === null ? null : `recorded at the same time as ${twin.log.path}: of one flight, only one of them is a run`,
    one.log.recovered === null ? null : `damaged: ${one.log.recovered}`,
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

/**
 * Of all kinds that could go together, those that make the most pairs. A vehicle has one autopilot, so two logs of autopilots are of two
 * flights, whatever one of them calls ground truth (*common practice, no source*).
 */
function twoRecorders(kinds: readonly LogKind[]): TwoRecorders | null {
  const captures = kinds.filter((kind) => hasSignal(kind, "vehicle_pose") && !hasSignal(kind, "vehicle_setpoint"));
  const others = kinds.filter((kind) => hasSignal(kind, "vehicle_setpoint"));
  let best: TwoRecorders | null = null;
  for (const capture of captures)
    for (const onboard of others) {
      if ([capture, onboard].every(({ logs }) => logKind(logs[0]?.log.format) === "autopilot")) continue;
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
  const up = upOfLogs(capture.logs);
  const drafts = ([capture, onboard] as const).map((kind): LogDraft => {
    const isCapture = kind === capture;
    const own = shareOf(signalsOf(kind), isCapture);
    const signals = (isCapture ? up : upOfLogs(onboard.logs)) === "down" ? withWorldDown(own) : own;
    const [first] = kind.logs;
    return {
      name: isCapture ? "mocap" : "onboard",
      isTable: isTable(first),
      isPoints: isPoints(first),
      signals,
      unknown: first!.unknown,
    };
  });
  return campaignDraft(drafts, runs, left, {
    ...context,
    pairedBy: pairs.length === 0 ? null : by,
    sight: null,
    gyroApart: false,
    up,
  });
}

function isTable(found: FoundLog | undefined): boolean {
  return logKind(found?.log.format) === "table";
}

function isPoints(found: FoundLog | undefined): boolean {
  return logKind(found?.log.format) === "points";
}

/** As most take-offs show it. */
function upOfLogs(logs: readonly FoundLog[]): FoundLog["up"] {
  const shown = logs.flatMap(({ up }) => (up === null ? [] : [up]));
  return (
    (["z", "y", "down"] as const).find((up) => 2 * shown.filter((each) => each === up).length > shown.length) ?? null
  );
}

function leftOut({ log }: FoundLog, why: string): LeftOut {
  const { path, same_as: original, same_by: by, error, messages, recovered } = log;
  const empty = messages > 0 ? null : recovered === null ? "it holds no message" : `it holds no message (${recovered})`;
  if (original === null) return { path, why: error ?? empty ?? why };
  return {
    path,
    why: by === "unfinished" ? `an unfinished recording of ${original}` : `the same ${by ?? "bytes"} as ${original}`,
  };
}

/**
 * Of a pair the capture gives the poses and the other all else; what the other takes for the vehicle's pose is its estimate, where it
 * is reckoned on board: the capture's own topic in an onboard log is on the capture's clock, and would confirm any offset.
 */
function shareOf(signals: readonly SignalDraft[], isCapture: boolean): readonly SignalDraft[] {
  const poses: readonly string[] = ["vehicle_pose", "effector_pose"];
  if (isCapture) return signals.filter(({ signal }) => poses.includes(signal));
  const hasEstimate = signals.some(({ signal }) => signal === "vehicle_estimate");
  const clock = signals.find(({ signal }) => signal === "vehicle_rate" || signal === "vehicle_setpoint")?.clock ?? null;
  return signals.flatMap((draft) =>
    !poses.includes(draft.signal)
      ? [draft]
      : draft.signal === "vehicle_pose" && !hasEstimate && draft.clock === clock && !captureWords.test(draft.place)
        ? [{ ...draft, signal: "vehicle_estimate" as const }]
        : [],
  );
}
