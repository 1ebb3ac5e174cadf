import type { Settings } from "../../contract/settings.ts";
import type { Check } from "../../foundation/checks.ts";
import type { PointTrack, PoseTrack, Window } from "../../foundation/tracks.ts";
import type { Vector3 } from "../../foundation/units.ts";
import { rotateVector } from "../../numeric/quaternion.ts";
import { pointOnBody } from "../frames.ts";
import { samplePoints } from "../sampleTrack.ts";
import { apartOf } from "./clockWitness.ts";
import { sightOfPosition, sightWithin } from "./motionSight.ts";

/** A hover moves slower than a vehicle turns, below some 1 Hz: smoothing of its rates, sd, seconds. */
const hoverSmoothing = 0.1;
/** Standard errors by which a lag must be clear: seconds of so slow a motion are not quite independent of each other. */
const clearOfError = 5;

/**
 * `bodies-apart`: while the arm rests the tool is carried along as a fixed point of the vehicle, so that both captured bodies
 * show one motion, and a lag between them is one of their stamps. Nothing is moved.
 *
 * The tool's mean place in the vehicle's frame over the hold says where it is carried; what is compared are the positions that
 * the vehicle's pose gives that point, and the tool's own.
 *
 * @param vehicle    marker frame, on the run's time, attitude measured
 * @param tool       marker frame, on the run's time
 * @param hold       stretch in which every command rests
 * @param intervals  median intervals of both, seconds
 */
export function bodiesApart(
  vehicle: PoseTrack,
  tool: PoseTrack,
  hold: Window,
  intervals: { readonly vehicle: number; readonly tool: number },
  settings: Settings,
): Check[] {
  const place = meanPlace(vehicle, tool, hold);
  if (place === null) return [];
  const longest = 3.5 * Math.max(intervals.vehicle, intervals.tool);
  const carried = sightWithin(sightOfPosition(pointOnBody(vehicle, place), longest), ...hold);
  const seen = sightWithin(sightOfPosition(tool, longest), ...hold);
  if (carried.t.length < 2 || seen.t.length < 2) return [];
  const slow = { ...settings, clock_smoothing: hoverSmoothing };
  const found = apartOf([seen, carried], "position", ["effector_pose", "vehicle_pose"], settings.bodies_search, slow);
  if (found === null) return [];
  const { apart, standardError } = found;
  if (!(Math.abs(apart) > Math.max(settings.bodies_apart, clearOfError * standardError))) return [];
  const milliseconds = (seconds: number): string => (1e3 * seconds).toFixed(1);
  return [
    {
      code: "bodies-apart",
      severity: "doubt",
      message: `while the arm rests both bodies move as one, but the stamps of effector_pose lie ${milliseconds(Math.abs(apart))} ms (standard error ${milliseconds(standardError)} ms) ${apart > 0 ? "after" : "before"} those of vehicle_pose at the same instant of that motion`,
      evidence: { apart_s: apart, apart_se_s: standardError, from_s: hold[0], to_s: hold[1] },
      hint: "look at what stamps the two bodies: two drivers, a filter on one of them, or receipt over another network; stamp both with the capture's own time of the frame",
      // the vehicle's error does not know the tool; in the hold nothing moves much
      touches: { subjects: ["effector", "arm"] },
    },
  ];
}

/** Where the tool is on average, seen from the vehicle, metres; null where too few instants of the hold have both. */
export function meanPlace(vehicle: PoseTrack, tool: PointTrack, [from, to]: Window): Vector3 | null {
  const { x, y, z } = samplePoints(tool, vehicle.t);
  const sum = [0, 0, 0];
  let n = 0;
  for (let i = 0; i < vehicle.t.length; i++) {
    const t = vehicle.t[i]!;
    if (t < from || t > to || Number.isNaN(x[i]!)) continue;
    const away: Vector3 = [x[i]! - vehicle.x[i]!, y[i]! - vehicle.y[i]!, z[i]! - vehicle.z[i]!];
    const seen = rotateVector([-vehicle.qx[i]!, -vehicle.qy[i]!, -vehicle.qz[i]!, vehicle.qw[i]!], away);
    for (let axis = 0; axis < 3; axis++) sum[axis]! += seen[axis]!;
    n++;
  }
  return n < 10 ? null : [sum[0]! / n, sum[1]! / n, sum[2]! / n];
}
