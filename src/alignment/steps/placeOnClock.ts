import type { MeasuredDeclaration, RunGrounds } from "../../contract/runGrounds.ts";
import type { Settings } from "../../contract/settings.ts";
import type { Check } from "../../foundation/checks.ts";
import type { PoseTrack, SignalName, Window } from "../../foundation/tracks.ts";
import { type ClockWitness, clockWitness } from "../clock/clockWitness.ts";
import type { ClockEstimate } from "../clock/estimateClock.ts";
import type { TimedSignal } from "../clock/sights.ts";
import { type ClockMap, mapClocks } from "../clockMap.ts";
import { describeFaults } from "../describeFaults.ts";
import type { DecidedStretch } from "../logged/commonStretch.ts";
import type { PreparedSignals } from "../prepareSignals.ts";
import { nothingToScore } from "../refusals.ts";
import type { PreparedSignal } from "../timedSignals.ts";
import type { Stage, Step } from "./Alignment.ts";

/** Signals of one clock whose stamps begin further apart than this count from different epochs, seconds. */
const longestApart = 86_400;

type Prepared = ReadonlyMap<SignalName, PreparedSignal>;

/** Signals that the manifest puts on one clock but whose stamps count from another epoch than the others'. */
function epochStrangers(prepared: Prepared): Check[] {
  const first = new Map<string, { name: SignalName; at: bigint }>();
  const checks: Check[] = [];
  for (const [name, { clock, timeline }] of prepared) {
    if (timeline.t.length === 0) continue;
    const at = timeline.epoch + BigInt(Math.round(timeline.t[0]! * 1e9));
    const other = first.get(clock);
    if (other === undefined) {
      first.set(clock, { name, at });
      continue;
    }
    const apart = Number(at - other.at) / 1e9;
    if (Math.abs(apart) < longestApart) continue;
    checks.push({
      code: "stamp-epoch",
      severity: "unusable",
      message: `${name} and ${other.name} are declared on one clock, but their stamps begin ${(Math.abs(apart) / 86_400).toFixed(1)} days apart`,
      evidence: { signal: name, other: other.name, apart_s: apart },
      hint: "one of them counts from another epoch (boot, 1970): give it a clock of its own with `same_motion`, or use `stamp: log`",
    });
  }
  return checks;
}

/**
 * Signals of one clock of which some are placed by their header and some, for want of one, by receipt: that is sound only
 * where stamp and receipt agree.
 */
function mixedStamps(prepared: Prepared, settings: Settings): Check[] {
  const checks: Check[] = [];
  for (const [name, signal] of prepared) {
    if (signal.timeline.source !== "log" || signal.timeline.t.length === 0) continue;
    const stamped = [...prepared].find(
      ([, other]) => other.clock === signal.clock && other.timeline.source === "header" && other.timeline.t.length > 0,
    );
    if (stamped === undefined) continue;
    const [otherName, { timeline }] = stamped;
    const { stampMinusReceipt, stampSpread } = timeline;
    if (Math.abs(stampMinusReceipt) < settings.clock_mixable && stampSpread < settings.clock_mixable) continue;
    checks.push({
      code: "stamp-log-used",
      severity: "doubt",
      message: `${name} is placed by its receipt and ${otherName} by its stamp, which lies ${stampMinusReceipt.toFixed(2)} s from its own receipt (middle 90 % within ${stampSpread.toFixed(2)} s): the two are out of step by that much`,
      evidence: {
        by_receipt: name,
        by_stamp: otherName,
        stamp_minus_receipt_s: stampMinusReceipt,
        stamp_minus_receipt_spread_s: stampSpread,
      },
      hint: "errors of a moving vehicle mean little on such times: stamp both where they are made, or give each a clock of its own",
    });
  }
  return checks;
}

/** What an alignment begins with. */
export interface Given {
  readonly campaign: RunGrounds;
  readonly run: MeasuredDeclaration;
  readonly prepared: PreparedSignals;
  readonly settings: Settings;
  /** what a logged trajectory's run is scored over, decided over all of its runs; null: not yet */
  readonly stretch: DecidedStretch | null;
  /** name of the clock that all is brought to */
  readonly reference: string;
  /** the run's epoch on it, nanoseconds; null where no signal could be placed */
  readonly epoch: bigint | null;
}

export function given(what: Pick<Given, "campaign" | "run" | "prepared" | "settings" | "stretch">): Given {
  const { campaign, prepared } = what;
  const reference = campaign.clocks.reference ?? prepared.get("vehicle_setpoint")?.clock ?? "";
  const epoch = runEpoch([...prepared.values()].filter((signal) => signal.clock === reference));
  return { ...what, reference, epoch };
}

/** The first instant of any signal on the reference clock, nanoseconds. */
function runEpoch(signals: readonly PreparedSignal[]): bigint | null {
  let first: bigint | null = null;
  for (const { timeline } of signals) {
    if (timeline.t.length === 0) continue;
    const at = timeline.epoch + BigInt(Math.round(timeline.t[0]! * 1e9));
    if (first === null || at < first) first = at;
  }
  return first;
}

export interface Taken {
  readonly epoch: bigint;
  readonly pose: PreparedSignal;
  readonly setpointSignal: PreparedSignal;
}

/** The signals without which nothing can be scored, on clocks that have a run in common. */
export const takeSignals: Step<Given, Taken> = ({ prepared, epoch, settings }, checks): Stage<Taken> => {
  const pose = prepared.get("vehicle_pose");
  const setpointSignal = prepared.get("vehicle_setpoint");
  if (
    epoch === null ||
    !pose?.poses ||
    pose.poses.t.length < 3 ||
    !setpointSignal ||
    setpointSignal.timeline.t.length === 0
  ) {
    const asLogged = (t: number): number => t - (pose?.timeline.t[0] ?? 0);
    const faults =
      pose === undefined ? [] : describeFaults("vehicle_pose", pose.faults, asLogged, null, 0, pose.interval, settings);
    const isSaid = checks.some((check) => check.severity === "unusable");
    return { adds: null, checks: isSaid ? faults : [...faults, nothingToScore(pose, setpointSignal)] };
  }
  const strangers = epochStrangers(prepared);
  return strangers.length > 0
    ? { adds: null, checks: strangers }
    : { adds: { epoch, pose, setpointSignal }, checks: [] };
};

export interface Clocked {
  readonly maps: ReadonlyMap<string, ClockMap>;
  readonly clocks: Readonly<Record<string, ClockEstimate>>;
  /** instants of a signal, from its own clock to seconds since the run's epoch */
  readonly onRun: (signal: TimedSignal, t: Float64Array) => Float64Array;
  /** what the vehicle's own sensors say of the capture's clock; null where they show nothing */
  readonly witness: ClockWitness | null;
}

/** Offset and rate of every clock of the run against the reference. */
export const joinClocks: Step<Given & Taken, Clocked> = ({ campaign, prepared, reference, epoch, settings }) => {
  const maps = mapClocks(campaign, prepared, reference, epoch, settings);
  const clocks = Object.fromEntries(
    [...maps].flatMap(([name, map]) => (map.estimate === null ? [] : [[name, map.estimate] as const])),
  );
  const onRun: Clocked["onRun"] = ({ clock, timeline }, t) =>
    t.map((maps.get(clock) ?? maps.get(reference)!).toRun(timeline.epoch));
  return {
    adds: { maps, clocks, onRun, witness: clockWitness(campaign, prepared, onRun, settings) },
    checks: [...mixedStamps(prepared, settings), ...[...maps.values()].flatMap((map) => map.checks)],
  };
};

export interface Posed {
  /** the vehicle's poses as captured */
  readonly markers: PoseTrack;
  readonly toolMarkers: PoseTrack | null;
  /** from the first pose of the vehicle to its last */
  readonly recorded: Window;
}

/** The captured poses on the run's clock; none where the clock of the vehicle's is not known. */
export const placePoses: Step<Given & Taken & Clocked, Posed> = ({ prepared, pose, onRun }) => {
  const posesOf = (name: SignalName): PoseTrack | null => {
    const signal = prepared.get(name);
    return signal?.poses && signal.poses.t.length > 2 ? { ...signal.poses, t: onRun(signal, signal.poses.t) } : null;
  };
  const markers = posesOf("vehicle_pose");
  if (markers === null || !Number.isFinite(markers.t[0]!)) return { adds: null, checks: [] };
  // as recorded, not as screening left it: a dropped beginning is lost time, no shorter recording
  const stamps = pose.timeline.t;
  const [from, to] = onRun(pose, Float64Array.of(stamps[0]!, stamps[stamps.length - 1]!));
  return { adds: { markers, toolMarkers: posesOf("effector_pose"), recorded: [from!, to!] }, checks: [] };
};
