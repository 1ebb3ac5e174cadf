import { fromYUp, meanUpInBody, transformPoses, turnBodyAxes } from "../../alignment/frames.ts";
import { axes, type PointTrack, type PoseTrack } from "../../foundation/tracks.ts";
import { extent } from "../../numeric/descriptive.ts";
import { isCommand } from "./bodies.ts";
import type { Stream } from "./streams.ts";
import { traitsOf } from "./traits.ts";

/** Which way is up in the axes that a body is logged in: along z, along y, or against z. */
export type Up = "z" | "y" | "down";

/** On the ground a vehicle stands for this long, seconds, within this, metres: a hover moves by more. */
const [standing, still] = [1, 2e-3];
/** It has left the ground where it is this far away, metres, and leaves it straight up: this share of the way is along one axis. */
const [away, straight] = [0.3, 0.85];

/**
 * Which way the vehicle goes when it leaves the ground, or comes back to it: a multirotor takes off straight up before it goes
 * anywhere (*common practice, no source*).
 *
 * @returns null where the record neither begins nor ends on the ground, or it leaves it aslant
 */
export function upOf(track: PointTrack | null): Up | null {
  if (track === null) return null;
  const [there, back] = [leaving(track), leaving(reversed(track))];
  return there !== null && back !== null && there !== back ? null : (there ?? back);
}

/**
 * The same of a setpoint, which stands still to the last digit in the air as well: only where it comes back to where it began is that
 * the ground.
 */
export function upAsked(track: PointTrack | null): Up | null {
  if (track === null) return null;
  const apart = [track.x, track.y, track.z].map((column) => column.at(-1)! - column[0]!);
  const there = leaving(track);
  return Math.hypot(...apart) < away / 3 && there === leaving(reversed(track)) ? there : null;
}

function leaving({ t, x, y, z }: PointTrack): Up | null {
  const columns = [x, y, z];
  const stands = t.findIndex((at) => at - t[0]! > standing);
  if (stands < 10) return null;
  const ranges = columns.map((column) => extent(column.subarray(0, stands)));
  if (ranges.some(({ low, high }) => high - low > still)) return null;
  const ground = ranges.map(({ low, high }) => (low + high) / 2);
  for (let i = stands; i < t.length; i++) {
    const way = columns.map((column, axis) => column[i]! - ground[axis]!);
    const size = Math.hypot(...way);
    if (size < away) continue;
    const axis = way.findIndex((part) => Math.abs(part) > straight * size);
    if (axes[axis] === "z") return way[axis]! > 0 ? "z" : "down";
    return axes[axis] === "y" && way[axis]! > 0 ? "y" : null;
  }
  return null;
}

function reversed({ t, x, y, z }: PointTrack): PointTrack {
  const last = t.at(-1)!;
  return {
    t: t.map((at) => last - at).reverse(),
    x: x.slice().reverse(),
    y: y.slice().reverse(),
    z: z.slice().reverse(),
  };
}

/** A body of a capture with y up as it is in a world with z up, so that it compares with what was asked for on board. */
export function turnedUp(stream: Stream): Stream {
  const { point, pose, poseInDegrees } = stream;
  if (point === null || isCommand(stream, traitsOf(point)) || upOf(point) !== "y") return stream;
  const turned = pose === null ? null : ofZUp(pose);
  const inDegrees = poseInDegrees === undefined ? {} : { poseInDegrees: ofZUp(poseInDegrees) };
  if (turned !== null) return { ...stream, point: turned, pose: turned, ...inDegrees };
  const { t, x, y, z } = point;
  return { ...stream, point: { t, x, y: z.map((value) => -value), z: y } };
}

/** As the evaluation turns it: the body's own axes as well, where they have y up. */
function ofZUp(pose: PoseTrack): PoseTrack {
  const turned = transformPoses(pose, { translation: [0, 0, 0], rotation: fromYUp });
  const [, y, z] = meanUpInBody(turned);
  return Math.abs(y) > Math.abs(z) ? turnBodyAxes(turned) : turned;
}
