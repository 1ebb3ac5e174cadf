import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import type { Window } from "../foundation/tracks.ts";
import { angleApart } from "../numeric/quaternion.ts";
import { lowerBound } from "../numeric/sortedColumns.ts";
import type { CommandTrack } from "./commandTrack.ts";
import type { FrameFacts } from "./describeFaults.ts";
import { meanYaw } from "./heading.ts";
import type { SubjectTrack } from "./subjectTracks.ts";

/** A yaw that another reading explains is left with less than this, rad (5 degrees). */
const explained = Math.PI / 36;

/**
 * Whether the vehicle flies at the yaw that counts as commanded: a yaw of another sense, unit or world, or one that was only
 * assumed, turns the effector's command about the vehicle. A yaw that is commanded all round tells nothing.
 *
 * An assumed yaw is doubted by what it does: lever arm times angle against the smallest difference that matters.
 */
export function yawCheck(facts: FrameFacts, settings: Settings): Check[] {
  const { vehicle, turned, setpoint, subjects, scored, frame, smallest } = facts;
  const laidOut = subjects.effector !== undefined && frame !== "world";
  const assumed = setpoint.attitude === "level" || isUnfilled(setpoint);
  if (!turned || (assumed && !laidOut)) return [];
  const flown = meanYaw(vehicle, scored);
  const asked = meanYaw(setpoint, scored);
  if (flown === null || asked === null) return [];
  const off = angleApart(flown, asked);
  const size = Math.abs(off);
  const { lever, stroke } = laidOut ? leverOf(subjects.effector!, subjects.vehicle!, scored) : { lever: 0, stroke: 0 };
  const matters = assumed && smallest !== null && size > settings.least_assumed_yaw && lever * size > smallest;
  if (size < settings.assumed_yaw && !matters) return [];
  const degrees = (angle: number): string => ((angle * 180) / Math.PI).toFixed(0);
  const cause = assumed || size < settings.gross_yaw ? null : causeOf(flown, asked);
  const moved = laidOut
    ? `; at ${(1e3 * lever).toFixed(0)} mm from the vehicle that is ${(1e3 * lever * size).toFixed(0)} mm`
    : "";
  const nothing = setpoint.attitude === "level" ? "carries no attitude" : "carries the same empty attitude throughout";
  return [
    {
      code: "frame-suspect",
      severity: laidOut && !assumed && size >= settings.gross_yaw ? "unusable" : "doubt",
      message: `${assumed ? `the setpoint ${nothing}, so a` : "a"} yaw of ${degrees(asked)} degrees is taken for commanded, but the vehicle flies at ${degrees(flown)} degrees on average${moved}${cause === null ? "" : `; ${cause}`}`,
      evidence: {
        mean_yaw_rad: flown,
        commanded_yaw_rad: asked,
        attitude: setpoint.attitude,
        lever_m: lever,
        effect_m: lever * size,
      },
      hint: assumed
        ? "log a setpoint with its attitude: the effector's command is laid out from it, and its error rests on the assumption"
        : "check the unit and the sense of the setpoint's yaw, its quaternion order, its `axes`, and `frames: onboard`: the effector's command is laid out from it",
      touches: {
        // worlds that are turned against each other turn the vehicle's errors too
        subjects: assumed || size < settings.gross_yaw ? ["effector"] : ["vehicle", "effector"],
        axes: ["x", "y"],
        // a command that moves is turned with its place
        part: size < settings.assumed_yaw && (smallest === null || stroke * size < smallest) ? "bias" : "all",
      },
    },
  ];
}

/** A constant attitude of exactly 0 0 0 1: a field that was never filled looks like that, and so does a commanded yaw of 0. */
function isUnfilled({ qx, qy, qz }: CommandTrack): boolean {
  const zero = (value: number): boolean => !(Math.abs(value) > 0);
  return qx.every(zero) && qy.every(zero) && qz.every(zero);
}

/** Horizontal distance at which the tool is commanded from the vehicle's setpoint, and how far that moves (sd); metres. */
function leverOf(
  effector: SubjectTrack,
  vehicle: SubjectTrack,
  window: Window | null,
): { lever: number; stroke: number } {
  const askedMean = (track: SubjectTrack): { mean: readonly [number, number]; sd: number } => {
    const from = window === null ? 0 : lowerBound(track.t, window[0]);
    const to = window === null ? track.t.length : lowerBound(track.t, window[1]);
    const n = Math.max(1, to - from);
    const sums = [0, 0, 0, 0];
    for (let i = from; i < to; i++) {
      const x = track.measured.x[i]! - track.error.x[i]!;
      const y = track.measured.y[i]! - track.error.y[i]!;
      sums[0]! += x;
      sums[1]! += y;
      sums[2]! += x * x;
      sums[3]! += y * y;
    }
    const [x, y] = [sums[0]! / n, sums[1]! / n];
    return { mean: [x, y], sd: Math.sqrt(Math.max(0, sums[2]! / n - x * x + sums[3]! / n - y * y)) };
  };
  const [tool, body] = [askedMean(effector), askedMean(vehicle)];
  return { lever: Math.hypot(tool.mean[0] - body.mean[0], tool.mean[1] - body.mean[1]), stroke: tool.sd };
}

/** The likeliest reason for a yaw that is tens of degrees off. */
function causeOf(flown: number, asked: number): string | null {
  const near = (a: number, b: number): boolean => Math.abs(angleApart(a, b)) < explained;
  if (near(flown, -asked)) return "a yaw of the other sense (clockwise from above)?";
  if (near(flown, Math.PI / 2 - asked)) return "a yaw from north, clockwise (north, east, down)?";
  if (near(flown, asked + Math.PI)) return "worlds or bodies turned by 180 degrees?";
  if (near(flown, asked + Math.PI / 2) || near(flown, asked - Math.PI / 2))
    return "worlds or bodies turned by 90 degrees?";
  return null;
}
