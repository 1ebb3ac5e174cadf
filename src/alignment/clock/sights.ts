import type { RecordedSignal } from "../../foundation/recording.ts";
import type { PoseTrack } from "../../foundation/tracks.ts";
import type { Quaternion } from "../../foundation/units.ts";
import { extent } from "../../numeric/descriptive.ts";
import { turnOfSums } from "../../numeric/fourierSums.ts";
import { gather } from "../../numeric/sortedColumns.ts";
import { hasAttitude, hasTilt } from "../attitude.ts";
import type { Timeline } from "../stamps.ts";
import { coarseStep, standardised } from "./coarseOffset.ts";
import { aboutVertical, type MotionSight, sightOfAttitude, sightOfPosition, sightOfRate } from "./motionSight.ts";
import type { RateGrid } from "./rateGrid.ts";

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

/** Two sights of one motion whose axes are turned against each other. */
export interface TurnedSight {
  /** 1: but for the turn the same motion throughout, whatever its scale */
  readonly agreement: number;
  /** the same with the axes as they are, at the same offset */
  readonly straight: number;
  /** of the turn, degrees */
  readonly angle: number;
  /** about which it is, unit vector */
  readonly axis: readonly [number, number, number];
}

/** A turn explains two sights where they agree by this much with it, and by this much less without. */
const explained = 0.8;
const better = 0.2;
/** Fewest grid points in common. */
const fewest = 100;
/** Every how many grid points two sights are compared. */
const stride = 4;

/**
 * Whether two sights of turning show one motion once the axes of the one are turned as a whole, as those of an autopilot that
 * is mounted askew: looked for at every offset within `search` of `near`, by the turn that suits each best.
 *
 * @returns null where none does, or the axes as they are do nearly as well
 */
export function turnedSight(that: RateGrid, reference: RateGrid, near: number, search: number): TurnedSight | null {
  const [a, b] = [standardised(reference), standardised(that)];
  const lags = Math.ceil(search / coarseStep);
  let best: TurnedSight | null = null;
  for (let lag = -lags; lag <= lags; lag++) {
    const apart = Math.round((reference.start + near + lag * coarseStep - that.start) / that.step);
    const found = turnAt(a, b, reference.known, that.known, apart);
    if (found !== null && found.agreement > (best?.agreement ?? 0)) best = found;
  }
  return best !== null && best.agreement > explained && best.agreement - best.straight > better ? best : null;
}

function turnAt(
  a: readonly Float64Array[],
  b: readonly Float64Array[],
  known: Uint8Array,
  thatKnown: Uint8Array,
  apart: number,
): TurnedSight | null {
  const cross = [0, 0, 0, 0, 0, 0, 0, 0, 0];
  let [ofA, ofB, n] = [0, 0, 0];
  for (let i = Math.max(0, -apart); i < Math.min(known.length, thatKnown.length - apart); i += stride) {
    if (known[i] === 0 || thatKnown[i + apart] === 0) continue;
    n++;
    for (let p = 0; p < 3; p++) {
      const u = b[p]![i + apart]!;
      ofB += u * u;
      ofA += a[p]![i]! * a[p]![i]!;
      for (let q = 0; q < 3; q++) cross[3 * p + q]! += u * a[q]![i]!;
    }
  }
  const size = Math.sqrt(ofA * ofB);
  if (n < fewest || !(size > 0)) return null;
  const { rotation, sum } = turnOfSums(cross);
  return {
    agreement: sum / size,
    straight: (cross[0]! + cross[4]! + cross[8]!) / size,
    ...angleAndAxis(rotation),
  };
}

function angleAndAxis([x, y, z, w]: Quaternion): Pick<TurnedSight, "angle" | "axis"> {
  const sine = Math.hypot(x, y, z);
  return {
    angle: (360 / Math.PI) * Math.atan2(sine, w),
    axis: sine > 0 ? [x / sine, y / sine, z / sine] : [0, 0, 1],
  };
}

/** "90 degrees about (0.00, 0.00, 1.00)". */
export function turnText({ angle, axis }: TurnedSight): string {
  return `${angle.toFixed(0)} degrees about (${axis.map((value) => value.toFixed(2)).join(", ")})`;
}
