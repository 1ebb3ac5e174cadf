import type { SignalAxes } from "../contract/campaign.ts";
import type { RecordedSignal } from "../foundation/recording.ts";
import type { PoseTrack } from "../foundation/tracks.ts";
import type { Quaternion } from "../foundation/units.ts";
import { multiplyQuaternions } from "../numeric/quaternion/multiplyQuaternions.ts";
import { transformPoses } from "./frames.ts";

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
