import type { Campaign, RunDeclaration } from "../../contract/campaign.ts";
import type { Settings } from "../../contract/settings.ts";
import type { SignalName } from "../../foundation/signals.ts";
import type { PoseTrack, Window } from "../../foundation/tracks.ts";
import { type ClockWitness, clockWitness } from "../clock/clockWitness.ts";
import type { ClockEstimate } from "../clock/estimateClock.ts";
import type { TimedSignal } from "../clock/sights.ts";
import { epochStrangers, mixedStamps } from "../clockChecks.ts";
import { type ClockMap, mapClocks } from "../clockMap.ts";
import { describeFaults } from "../describeFaults.ts";
import type { Stretch } from "../logged/commonStretch.ts";
import type { PreparedSignals } from "../prepareSignals.ts";
import { nothingToScore } from "../refusals.ts";
import type { PreparedSignal } from "../timedSignals.ts";
import type { Stage, Step } from "./Alignment.ts";

/** What an alignment begins with. */
export interface Given {
  readonly campaign: Campaign;
  readonly run: RunDeclaration;
  readonly prepared: PreparedSignals;
  readonly settings: Settings;
  /** what a logged trajectory's run is scored over, decided over all of its runs; null: not yet */
  readonly stretch: Stretch | null;
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
