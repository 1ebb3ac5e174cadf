import type { PoseTrack } from "../foundation/tracks.ts";
import { eulerFromQuaternion } from "../numeric/quaternion/eulerFromQuaternion.ts";
import { multiplyQuaternions } from "../numeric/quaternion/multiplyQuaternions.ts";

/** Attitude about the commanded one, radians. */
export interface AttitudeFigures {
  /** n - 1, about the mean */
  readonly sd: number;
  /** about the command */
  readonly rms: number;
}

/**
 * Attitude error: roll, pitch and yaw (intrinsic z-y'-x'') of the rotation from the commanded to the measured attitude.
 *
 * @param measured   n poses, body to world
 * @param commanded  n poses at the same instants; NaN where nothing was commanded
 * @returns null for fewer than two samples with a command
 */
export function attitudeError(
  measured: PoseTrack,
  commanded: PoseTrack,
): Record<"roll" | "pitch" | "yaw", AttitudeFigures> | null {
  const angles: Record<"roll" | "pitch" | "yaw", number[]> = { roll: [], pitch: [], yaw: [] };
  for (let i = 0; i < measured.t.length; i++) {
    const back = [-commanded.qx[i]!, -commanded.qy[i]!, -commanded.qz[i]!, commanded.qw[i]!] as const;
    if (!Number.isFinite(back[3])) continue;
    const difference = multiplyQuaternions(back, [measured.qx[i]!, measured.qy[i]!, measured.qz[i]!, measured.qw[i]!]);
    const { roll, pitch, yaw } = eulerFromQuaternion(difference);
    angles.roll.push(roll);
    angles.pitch.push(pitch);
    angles.yaw.push(yaw);
  }
  if (angles.roll.length < 2) return null;
  const figures = (values: readonly number[]): AttitudeFigures => {
    const n = values.length;
    const mean = values.reduce((sum, value) => sum + value, 0) / n;
    const about = values.reduce((sum, value) => sum + (value - mean) ** 2, 0);
    const squares = values.reduce((sum, value) => sum + value * value, 0);
    return { sd: Math.sqrt(about / (n - 1)), rms: Math.sqrt(squares / n) };
  };
  return { roll: figures(angles.roll), pitch: figures(angles.pitch), yaw: figures(angles.yaw) };
}
