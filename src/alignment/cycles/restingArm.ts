import type { Check } from "../../foundation/checks.ts";
import type { PointTrack, Window } from "../../foundation/tracks.ts";
import { extent } from "../../numeric/extent.ts";
import { lowerBound } from "../../numeric/lowerBound.ts";

/** A setpoint that goes less far than this along an axis goes nowhere, metres. */
const least = 0.05;
/** A way out and back is twice its reach; one that goes on is longer, and a path. */
const outAndBack = 2.2;

/**
 * Of a logged trajectory, an arm command that rests throughout: the vehicle's setpoint then passes for the trajectory. That is meant
 * where the vehicle goes to and fro with the arm held still; a climb and a landing alone are no trajectory, and a way to a place and
 * back is doubted.
 *
 * @param setpoint  of the vehicle, world with z up, metres
 * @param within    stretch in which poses were recorded, seconds
 */
export function restingArm(setpoint: PointTrack, within: Window): Check[] {
  const [from, to] = [lowerBound(setpoint.t, within[0]), lowerBound(setpoint.t, within[1])];
  const [x, y, z] = [setpoint.x, setpoint.y, setpoint.z].map((column) => wayOf(column.subarray(from, to)));
  const goes = [x!, y!, z!].filter(({ reach }) => reach > least);
  // one that rests as well is said to never move
  if (goes.length === 0 || goes.some(({ reach, length }) => length > outAndBack * reach)) return [];
  const isAside = Math.max(x!.reach, y!.reach) > least;
  return [
    {
      code: "wrong-trajectory",
      severity: isAside ? "doubt" : "unusable",
      message: isAside
        ? "the effector's command never moves: what is scored is the one way that the vehicle's setpoint goes"
        : "the effector's command never moves, and the vehicle's setpoint only climbs or descends: there is no trajectory to score",
      evidence: { along_x_m: x!.reach, along_y_m: y!.reach, along_z_m: z!.reach },
      hint: "check the topic of the effector's command, and which trajectory this run flew; a flight at rest is `shape: hold`",
    },
  ];
}

/** How far a column goes from end to end, and the length of its way; instants at which nothing is commanded are left out. */
function wayOf(column: Float64Array): { reach: number; length: number } {
  const known = column.filter(Number.isFinite);
  if (known.length === 0) return { reach: 0, length: 0 };
  const { low, high } = extent(known);
  let length = 0;
  for (let i = 1; i < known.length; i++) length += Math.abs(known[i]! - known[i - 1]!);
  return { reach: high - low, length };
}
