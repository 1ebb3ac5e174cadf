import type { RecordedSignal } from "../../foundation/recording.ts";
import type { PoseTrack } from "../../foundation/tracks.ts";
import { extent } from "../../numeric/extent.ts";
import { gather } from "../../numeric/gather.ts";
import { hasAttitude, hasTilt } from "../measuredAttitude.ts";
import type { Timeline } from "../stamps.ts";
import { aboutVertical, type MotionSight, sightOfAttitude, sightOfPosition, sightOfRate } from "./motionSight.ts";

/** The kinds of sight, from the most to the least trustworthy. */
export type SightKind = "gyro" | "attitude" | "position";

export const sourceWords: Record<SightKind, string> = {
  gyro: "gyro against the body rate of the captured attitude",
  attitude: "attitude against attitude; includes any delay of the estimator",
  position: "position against position; includes any delay of the estimator",
};

/** A signal with its instants on its own clock. */
export interface TimedSignal {
  readonly signal: RecordedSignal;
  readonly timeline: Timeline;
  readonly clock: string;
  /** screened poses on the signal's own clock (seconds after `timeline.epoch`), where the signal is a pose */
  readonly poses: PoseTrack | null;
  readonly interval: number;
}

/** Longest step over which a rate is taken as known, in median intervals of the sight. */
const longestStepIntervals = 3.5;

/** What two signals of the vehicle show in common, the most trustworthy first: turn rate, attitude, position. */
export function sightKind(that: TimedSignal, reference: TimedSignal): SightKind {
  if (isRate(that) || isRate(reference)) return "gyro";
  // an estimate that carries the identity throughout has no attitude to show
  const turns = ({ signal, poses }: TimedSignal): boolean =>
    signal.columns.qw !== undefined &&
    poses !== null &&
    [poses.qx, poses.qy, poses.qz, poses.qw].some((column) => extent(column).high - extent(column).low > 1e-4);
  if (!turns(that) || !turns(reference)) return "position";
  const placed = [that, reference].every(({ signal }) => signal.columns.x !== undefined);
  return placed && yawAlone([that, reference]) ? "position" : "attitude";
}

/** That one of two signals which would have to show how the vehicle turns, beside a gyro, and does not; null where none. */
export function unturned(that: TimedSignal, reference: TimedSignal): TimedSignal | null {
  const pose = [that, reference].find((timed) => !isRate(timed));
  return pose === undefined || hasAttitude(pose) ? null : pose;
}

/** Whether one of two sights of turning does not show the tilt, in which most of the motion lies. */
export function yawAlone(sights: readonly TimedSignal[]): boolean {
  return sights.some((timed) => !isRate(timed) && !hasTilt(timed));
}

/**
 * The sights of one motion that two signals give.
 *
 * @param toTime  seconds of each signal's clock to those that its sight is to have
 */
export function sightsOf(
  pair: readonly [TimedSignal, TimedSignal],
  kind: SightKind,
  toTime: (timed: TimedSignal, t: Float64Array) => Float64Array,
): readonly [MotionSight, MotionSight] {
  const seen = (timed: TimedSignal): MotionSight => {
    const own = sightOf(timed, kind);
    const sight = { ...own, t: toTime(timed, own.t) };
    return kind !== "position" && yawAlone(pair) ? aboutVertical(sight) : sight;
  };
  return [seen(pair[0]), seen(pair[1])];
}

function isRate(timed: TimedSignal): boolean {
  return timed.signal.signal === "vehicle_rate";
}

function sightOf(timed: TimedSignal, kind: SightKind): MotionSight {
  const longest = longestStepIntervals * timed.interval;
  if (isRate(timed)) {
    const pick = (name: string): Float64Array => {
      const column = timed.signal.columns[name] ?? new Float64Array(timed.signal.received.seconds.length);
      return gather(column, timed.timeline.order);
    };
    return sightOfRate(timed.timeline.t, [pick("wx"), pick("wy"), pick("wz")], longest);
  }
  const poses = timed.poses!;
  return kind === "position" ? sightOfPosition(poses, longest) : sightOfAttitude(poses, longest);
}
