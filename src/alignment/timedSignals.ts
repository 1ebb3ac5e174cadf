import type { MeasuredDeclaration, RunGrounds } from "../contract/runGrounds.ts";
import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import type { RecordedSignal } from "../foundation/recording.ts";
import type { PoseTrack, SignalName } from "../foundation/tracks.ts";
import { extent } from "../numeric/descriptive.ts";
import { gatherBy } from "../numeric/sortedColumns.ts";
import { alternationCheck } from "./alternation.ts";
import type { TimedSignal } from "./clock/sights.ts";
import type { Excursion } from "./excursions.ts";
import { fromYUp, meanUpInBody, transformPoses, turnBodyAxes } from "./frames.ts";
import { type PolledPoses, polledPoses } from "./halfFrozen.ts";
import { turnAxes, turnRates } from "./heading.ts";
import { type Fault, medianInterval, screenPoses } from "./poseFaults.ts";
import { shiftCheck } from "./shiftCheck.ts";
import { buildTimeline, type Timeline } from "./stamps.ts";

/** A signal ready to be put on the run's clock, with what was found wrong with it on the way. */
export interface PreparedSignal extends TimedSignal {
  readonly faults: readonly Fault[];
  readonly excursions: readonly Excursion[];
  readonly checks: readonly Check[];
  /** which of a captured body's axes points up in a level hover, where that was seen from its attitude; else null */
  readonly bodyUp: BodyUp | null;
}

/** A capture whose world has y up often gives its bodies such axes, too. */
export type BodyUp = "y" | "z";

const poseSignals: readonly SignalName[] = ["vehicle_pose", "effector_pose", "vehicle_estimate"];

/**
 * Puts one signal in order on its own clock: stamps chosen and sorted, poses screened, units and the capture world's up
 * applied. Commands keep every message: what is masked in them is a statement, not a fault.
 *
 * @param bodyUp  of the vehicle, for the other bodies of its capture; null: seen from the body's own attitude
 */
export function prepareSignal(
  campaign: RunGrounds,
  run: MeasuredDeclaration,
  signal: RecordedSignal,
  settings: Settings,
  bodyUp: BodyUp | null = null,
): PreparedSignal {
  const source = campaign.signals[signal.signal];
  const { timeline: whole, checks } = buildTimeline(
    signal,
    source?.stamp ?? "header",
    settings,
    campaign.clocks.reference !== null,
  );
  const clock = source?.clock ?? "";
  if (signal.signal === "vehicle_rate") {
    const { timeline, dropped } = finiteRows(
      whole,
      ["wx", "wy", "wz"].map((name) => signal.columns[name]),
    );
    return {
      signal: turnRates(signal, source?.axes ?? null),
      timeline,
      clock,
      poses: null,
      interval: medianInterval(timeline.t),
      faults: [],
      excursions: [],
      checks: dropped === 0 ? checks : [...checks, notFinite(signal, dropped)],
      bodyUp: null,
    };
  }
  if (!poseSignals.includes(signal.signal)) {
    return {
      signal,
      timeline: whole,
      clock,
      poses: null,
      interval: medianInterval(whole.t),
      faults: [],
      excursions: [],
      checks,
      bodyUp: null,
    };
  }
  const logged = rawPoses(signal, whole);
  const polled = polledPoses(logged);
  const track = polled?.track ?? logged;
  const screened = screenPoses(track, settings, whole.source === "log");
  const isCapture = signal.signal !== "vehicle_estimate";
  const own = turnAxes(screened.track, source?.axes ?? null);
  const { track: turned, up } = isCapture
    ? turnCapture(own, campaign, source?.axes != null, bodyUp)
    : { track: transformPoses(own, onboardOf(campaign, run)), up: null };
  const magnitude = magnitudeCheck(signal, turned);
  return {
    signal: withoutColumns(signal),
    timeline: whole,
    clock,
    poses: turned,
    interval: screened.interval,
    faults: screened.faults,
    excursions: screened.excursions,
    checks: [
      ...checks,
      ...(polled === null ? [] : [polledCheck(signal, polled)]),
      ...alternationCheck(signal.signal, track, settings),
      ...magnitude,
      // in millimetres every step is a shift
      ...(isCapture && magnitude.length === 0
        ? shiftCheck(signal.signal, screened.track, screened.interval, settings)
        : []),
    ],
    // without an attitude nothing was seen
    bodyUp: signal.columns.qw === undefined ? null : up,
  };
}

/** What is known of a pose signal besides its raw columns, which the screened track replaces; their names stay. */
function withoutColumns(signal: RecordedSignal): RecordedSignal {
  const none = new Float64Array(0);
  const { published: _, ...rest } = signal;
  return {
    ...rest,
    received: { epoch: signal.received.epoch, seconds: none },
    stamped: signal.stamped === null ? null : { epoch: signal.stamped.epoch, seconds: none },
    columns: Object.fromEntries(Object.keys(signal.columns).map((name) => [name, none])),
  };
}

/** The onboard world in the capture world, for this run's block. */
export function onboardOf(campaign: RunGrounds, run: MeasuredDeclaration): RunGrounds["frames"]["onboard"] {
  return (run.block === null ? undefined : campaign.frames.onboardByBlock[run.block]) ?? campaign.frames.onboard;
}

/**
 * Turns a y-up capture to z-up. Whether the bodies' own axes were also defined y-up is seen from the vehicle's mean attitude,
 * unless the signal declares them: a multirotor hovers level, so the body axis that points up is the one that was meant to.
 * A tool may point anywhere: its own attitude is asked only where the vehicle's is not known.
 */
function turnCapture(
  track: PoseTrack,
  campaign: RunGrounds,
  isBodyDeclared: boolean,
  known: BodyUp | null,
): { track: PoseTrack; up: BodyUp | null } {
  if (campaign.frames.worldUp === "z") return { track, up: null };
  const turned = transformPoses(track, { translation: [0, 0, 0], rotation: fromYUp });
  if (isBodyDeclared) return { track: turned, up: null };
  const [, y, z] = meanUpInBody(turned);
  const up = known ?? (Math.abs(y) > Math.abs(z) ? "y" : "z");
  return { track: up === "y" ? turnBodyAxes(turned) : turned, up };
}

function rawPoses(signal: RecordedSignal, timeline: Timeline): PoseTrack {
  const n = timeline.order.length;
  const inOrder = gatherBy(timeline.order);
  // an estimate that is an attitude alone: its place is not asked for, but must not read as lost
  const anywhere = signal.signal === "vehicle_estimate" && signal.columns.x === undefined ? 1 : Number.NaN;
  const pick = (name: string, absent: number): Float64Array => {
    const column = signal.columns[name];
    return column === undefined ? new Float64Array(n).fill(absent) : inOrder(column);
  };
  return {
    t: timeline.t,
    x: pick("x", anywhere),
    y: pick("y", anywhere),
    z: pick("z", anywhere),
    qx: pick("qx", 0),
    qy: pick("qy", 0),
    qz: pick("qz", 0),
    qw: pick("qw", 1),
  };
}

function finiteRows(
  timeline: Timeline,
  columns: readonly (Float64Array | undefined)[],
): { timeline: Timeline; dropped: number } {
  const keep: number[] = [];
  for (let i = 0; i < timeline.t.length; i++) {
    let sum = 0;
    for (const column of columns) sum += column === undefined ? Number.NaN : column[timeline.order[i]!]!;
    if (Number.isFinite(sum)) keep.push(i);
  }
  if (keep.length === timeline.t.length) return { timeline, dropped: 0 };
  return {
    timeline: {
      ...timeline,
      t: Float64Array.from(keep, (i) => timeline.t[i]!),
      order: Uint32Array.from(keep, (i) => timeline.order[i]!),
    },
    dropped: timeline.t.length - keep.length,
  };
}

function notFinite(signal: RecordedSignal, dropped: number): Check {
  return {
    code: "gap",
    severity: "note",
    message: `${dropped} messages of ${signal.topic} hold no finite rate and were left out`,
    evidence: { topic: signal.topic, dropped },
    hint: "look at the driver of this sensor",
  };
}

function polledCheck({ signal, topic }: RecordedSignal, { typical, dropped, track }: PolledPoses): Check {
  return {
    code: "frozen",
    severity: "note",
    message: `the log of ${signal} is filled faster than the capture delivers: a pose stands ${typical} times in it (median); the first of each was kept, ${dropped} copies were left out`,
    evidence: { topic, times: typical, copies: dropped, poses: track.t.length },
    hint: "a copy bears a later stamp than its measurement: log each pose once, when it comes, with the capture's own stamp",
  };
}

/** No arena is a hundred metres wide: millimetres taken for metres look like that. */
function magnitudeCheck(signal: RecordedSignal, track: PoseTrack): Check[] {
  if (track.t.length < 2) return [];
  const extents = [track.x, track.y, track.z].map(extent);
  const low = Math.min(...extents.map((each) => each.low));
  const high = Math.max(...extents.map((each) => each.high));
  if (high - low < 100) return [];
  return [
    {
      code: "frame-suspect",
      severity: "unusable",
      message: `positions of ${signal.topic} range from ${low.toFixed(0)} to ${high.toFixed(0)} m: too large for an arena`,
      evidence: { topic: signal.topic, lowest_m: low, highest_m: high },
      hint: "if the log is in millimetres, say so: `units: { position: mm }` on this signal",
    },
  ];
}
