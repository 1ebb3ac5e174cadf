import type { Check } from "../foundation/checks.ts";
import type { RecordedSignal } from "../foundation/recording.ts";
import type { PoseTrack } from "../foundation/tracks.ts";
import type { Vector3 } from "../foundation/units.ts";
import { extent } from "../numeric/extent.ts";

interface Posed {
  readonly signal: RecordedSignal;
  readonly poses: PoseTrack | null;
}

/**
 * Whether a pose signal tells how the body is turned. A point has no attitude, and one that stays the same to the last digit was
 * filled in and not measured; both read as level.
 */
export function hasAttitude({ signal, poses }: Posed): boolean {
  if (poses === null || signal.columns.qw === undefined) return false;
  return poses.t.length < 2 || [poses.qx, poses.qy, poses.qz, poses.qw].some(varies);
}

/** Whether it also tells how the body is tilted: of a body whose yaw alone is logged, roll and pitch read as 0. */
export function hasTilt(posed: Posed): boolean {
  const { poses } = posed;
  return hasAttitude(posed) && poses !== null && (poses.t.length < 2 || varies(poses.qx) || varies(poses.qy));
}

function varies(column: Float64Array): boolean {
  const { low, high } = extent(column);
  return high > low;
}

const hint =
  "log the whole pose (PoseStamped instead of PointStamped; columns qx qy qz qw, or roll pitch yaw; three markers or more)";

function why(posed: Posed): string {
  const { signal } = posed;
  if (signal.columns.qw === undefined) return `${signal.signal} holds positions alone`;
  return hasAttitude(posed)
    ? `${signal.signal} holds no attitude but its yaw`
    : `${signal.signal} holds the same attitude in every message, which was filled in and not measured`;
}

/** What is left out because the vehicle's attitude was not measured. */
export function vehicleUnturned(pose: Posed, scoresArm: boolean): Check {
  return {
    code: "missing-signal",
    severity: scoresArm ? "doubt" : "note",
    message: `${why(pose)}: how the vehicle is ${hasAttitude(pose) ? "tilted" : "turned"} is not known, and ${scoresArm ? "the arm's own error, the error budget and the attitude error are" : "the attitude error is"} left out`,
    evidence: { signal: pose.signal.signal, type: pose.signal.type },
    hint,
  };
}

/** A control point away from what is logged cannot be placed without the attitude. */
export function pointUnplaced(body: Posed, point: "body_point" | "tool_point", place: Vector3): Check {
  const isVehicle = point === "body_point";
  return {
    code: "missing-signal",
    severity: isVehicle ? "unusable" : "doubt",
    message: `${why(body)}: \`${point}\`, ${(1e3 * Math.hypot(...place)).toFixed(0)} mm from it, cannot be placed, and ${isVehicle ? "the run cannot be scored" : "effector and arm are not scored"}`,
    evidence: { signal: body.signal.signal, type: body.signal.type, away_m: Math.hypot(...place) },
    hint: `${hint}; or leave \`${point}\` out, where the point that is logged is meant`,
  };
}

/** A gyro shows how the vehicle turns, and this sight does not. */
export function clockUnseen(clock: string, body: Posed): Check {
  const { signal, type } = body.signal;
  return {
    code: "missing-signal",
    severity: "unusable",
    message: `the offset of clock ${clock} cannot be found: a gyro shows how the vehicle turns, but ${why(body)}`,
    evidence: { clock, signal, type },
    hint: `${hint}; or join the clocks by the position of vehicle_estimate, or by an \`offset\` that is known`,
  };
}
