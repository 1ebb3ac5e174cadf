import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import type { RecordedSignal } from "../foundation/recording.ts";
import type { PoseTrack } from "../foundation/tracks.ts";
import type { Vector3 } from "../foundation/units.ts";
import { extent } from "../numeric/descriptive.ts";

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

/** Unit quaternions of a command, one for each message. */
export interface AttitudeColumns {
  readonly qx: Float64Array;
  readonly qy: Float64Array;
  readonly qz: Float64Array;
  readonly qw: Float64Array;
  /** where it comes from: the message, its yaw alone, or nowhere (level, yaw 0) */
  readonly attitude: "given" | "yaw" | "level";
  /** messages without one among messages that have one: the one before them was kept */
  readonly missing: number;
}

/**
 * The attitude of a command, kept over the messages that carry none.
 *
 * @param pick  a column in the order of the messages; null where the type has none
 */
export function attitudeColumns(
  pick: (name: string) => Float64Array | null,
  n: number,
  settings: Settings,
): AttitudeColumns {
  const [qx, qy, qz, qw] = ["qx", "qy", "qz", "qw"].map(pick);
  if (qx && qy && qz && qw)
    return givenAttitude(qx, qy, qz, qw, settings) ?? { ...levelAttitude(n), attitude: "level", missing: 0 };
  const yaw = pick("yaw");
  const missing = yaw?.reduce((count, value) => count + (Number.isFinite(value) ? 0 : 1), 0) ?? n;
  if (!yaw || missing > settings.attitude_missing * n) return { ...levelAttitude(n), attitude: "level", missing: 0 };
  const out = levelAttitude(n);
  let last = yaw.find(Number.isFinite) ?? 0;
  for (let i = 0; i < n; i++) {
    if (Number.isFinite(yaw[i]!)) last = yaw[i]!;
    out.qz[i] = Math.sin(last / 2);
    out.qw[i] = Math.cos(last / 2);
  }
  return { ...out, attitude: "yaw", missing };
}

function levelAttitude(n: number): Pick<AttitudeColumns, "qx" | "qy" | "qz" | "qw"> {
  return { qx: new Float64Array(n), qy: new Float64Array(n), qz: new Float64Array(n), qw: new Float64Array(n).fill(1) };
}

/** Unit quaternions of continuous sign; null where too many messages carry none (zero, not finite, not of unit norm). */
function givenAttitude(
  qx: Float64Array,
  qy: Float64Array,
  qz: Float64Array,
  qw: Float64Array,
  settings: Settings,
): AttitudeColumns | null {
  const n = qx.length;
  const out = levelAttitude(n);
  const norm = (i: number): number => Math.sqrt(qx[i]! * qx[i]! + qy[i]! * qy[i]! + qz[i]! * qz[i]! + qw[i]! * qw[i]!);
  const isUnit = (i: number): boolean => Math.abs(norm(i) - 1) < 0.01;
  let last = 0;
  while (last < n && !isUnit(last)) last++;
  if (last === n) return null;
  let missing = 0;
  for (let i = 0; i < n; i++) {
    if (isUnit(i)) last = i;
    else missing++;
    const p = Math.max(0, i - 1);
    const dot = out.qx[p]! * qx[last]! + out.qy[p]! * qy[last]! + out.qz[p]! * qz[last]! + out.qw[p]! * qw[last]!;
    const scale = (dot < 0 ? -1 : 1) / norm(last);
    out.qx[i] = qx[last]! * scale;
    out.qy[i] = qy[last]! * scale;
    out.qz[i] = qz[last]! * scale;
    out.qw[i] = qw[last]! * scale;
  }
  return missing > settings.attitude_missing * n ? null : { ...out, attitude: "given", missing };
}
