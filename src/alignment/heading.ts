import type { SignalAxes } from "../contract/campaign.ts";
import type { Settings } from "../contract/settings.ts";
import type { RecordedSignal } from "../foundation/recording.ts";
import type { PoseTrack, Window } from "../foundation/tracks.ts";
import type { Quaternion, Radians } from "../foundation/units.ts";
import { angleApart, multiplyQuaternions } from "../numeric/quaternion.ts";
import { lowerBound } from "../numeric/sortedColumns.ts";
import type { CommandTrack } from "./commandTrack.ts";
import { transformPoses } from "./frames.ts";

/**
 * Circular mean of the yaw in a window, with the value before it, radians from the world's x towards y.
 *
 * @param window  null: the whole track
 * @returns null where the yaw goes round (mean resultant below 0.9) or is not known
 */
export function meanYaw(
  { t, qx, qy, qz, qw }: Pick<PoseTrack, "t" | "qx" | "qy" | "qz" | "qw">,
  window: Window | null,
): Radians | null {
  const from = window === null ? 0 : Math.max(0, lowerBound(t, window[0]) - 1);
  const to = window === null ? t.length : lowerBound(t, window[1]);
  let sine = 0;
  let cosine = 0;
  let n = 0;
  for (let i = from; i < to; i++) {
    const yaw = Math.atan2(2 * (qw[i]! * qz[i]! + qx[i]! * qy[i]!), 1 - 2 * (qy[i]! * qy[i]! + qz[i]! * qz[i]!));
    if (Number.isNaN(yaw)) continue;
    sine += Math.sin(yaw);
    cosine += Math.cos(yaw);
    n++;
  }
  return n > 0 && Math.hypot(sine, cosine) > 0.9 * n ? Math.atan2(sine, cosine) : null;
}

/** The way the vehicle faces in a run: one angle from the world's x towards y, however it moves. */
export interface Heading {
  readonly yaw: Radians;
  /** the setpoint's mean yaw in the scored window, or the measured one of the hold */
  readonly source: "setpoint" | "measured";
}

/**
 * The heading of a run: the mean yaw that was commanded in the scored window. The measured one of the hold (else of the scored
 * window) where none was commanded, or where the vehicle flies by more than `assumed_yaw` beside it: counterweights sit on the
 * vehicle, not on its setpoint, and that the two disagree is a check of its own.
 *
 * @param vehicle  measured attitude; null where it was not measured
 * @returns null where neither is known, or the yaw goes round
 */
export function headingOf(
  setpoint: CommandTrack,
  vehicle: PoseTrack | null,
  { scored, hold }: { readonly scored: Window | null; readonly hold: Window | null },
  settings: Settings,
): Heading | null {
  const commanded = setpoint.attitude === "level" ? null : meanYaw(setpoint, scored ?? hold);
  const measured = vehicle === null ? null : meanYaw(vehicle, hold ?? scored);
  const follows = (asked: Radians): boolean =>
    measured === null || Math.abs(angleApart(measured, asked)) < settings.assumed_yaw;
  if (commanded !== null && follows(commanded)) return { yaw: commanded, source: "setpoint" };
  return measured === null ? null : { yaw: measured, source: "measured" };
}

/** Half a turn about x: forward, right, down becomes forward, left, up. Determinant +1, its own inverse but for the sign. */
const halfTurn: Quaternion = [1, 0, 0, 0];

/** Logged world in a world with z up. North, east, down: half a turn about the bisector of x and y, so x is east. */
const worlds: Readonly<Record<SignalAxes["world"], Quaternion>> = {
  enu: [0, 0, 0, 1],
  ned: [Math.SQRT1_2, Math.SQRT1_2, 0, 0],
  frd: halfTurn,
};

/**
 * A pose track turned from the axes it was logged in to those of the campaign.
 *
 *   position: R p      attitude: R q B^-1
 *
 * R is the logged world in the campaign's, B the logged body in the campaign's. NaN stays NaN.
 *
 * @source REP 103 (units and conventions of ROS) and REP 105 for the axes; the turns follow from their definition
 */
export function turnAxes<T extends PoseTrack>(track: T, axes: SignalAxes | null): T {
  if (axes === null) return track;
  const turned = transformPoses(track, { translation: [0, 0, 0], rotation: worlds[axes.world] });
  return axes.body === "frd" ? turnBody(turned) : turned;
}

function turnBody<T extends PoseTrack>(track: T): T {
  const n = track.t.length;
  const make = (): Float64Array => new Float64Array(n);
  const out = { qx: make(), qy: make(), qz: make(), qw: make() };
  for (let i = 0; i < n; i++) {
    const q: Quaternion = [track.qx[i]!, track.qy[i]!, track.qz[i]!, track.qw[i]!];
    const turned = multiplyQuaternions(q, [-1, 0, 0, 0]);
    out.qx[i] = turned[0];
    out.qy[i] = turned[1];
    out.qz[i] = turned[2];
    out.qw[i] = turned[3];
  }
  return { ...track, ...out };
}

/** Body rates turned from forward, right, down to forward, left, up. */
export function turnRates(signal: RecordedSignal, axes: SignalAxes | null): RecordedSignal {
  const { wx, wy, wz } = signal.columns;
  if (axes?.body !== "frd" || wx === undefined || wy === undefined || wz === undefined) return signal;
  const minus = (column: Float64Array): Float64Array => column.map((value) => -value);
  return { ...signal, columns: { ...signal.columns, wy: minus(wy), wz: minus(wz) } };
}
