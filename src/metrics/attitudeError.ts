import type { PoseTrack } from "../foundation/tracks.ts";

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
  const n = measured.t.length;
  const roll = new Float64Array(n);
  const pitch = new Float64Array(n);
  const yaw = new Float64Array(n);
  let size = 0;
  for (let i = 0; i < n; i++) {
    const ax = -commanded.qx[i]!;
    const ay = -commanded.qy[i]!;
    const az = -commanded.qz[i]!;
    const aw = commanded.qw[i]!;
    if (!Number.isFinite(aw)) continue;
    const bx = measured.qx[i]!;
    const by = measured.qy[i]!;
    const bz = measured.qz[i]!;
    const bw = measured.qw[i]!;
    // conj(commanded) * measured, written out: this runs once a sample
    const x = aw * bx + ax * bw + ay * bz - az * by;
    const y = aw * by - ax * bz + ay * bw + az * bx;
    const z = aw * bz + ax * by - ay * bx + az * bw;
    const w = aw * bw - ax * bx - ay * by - az * bz;
    roll[size] = Math.atan2(2 * (w * x + y * z), 1 - 2 * (x * x + y * y));
    pitch[size] = Math.asin(Math.max(-1, Math.min(1, 2 * (w * y - z * x))));
    yaw[size] = Math.atan2(2 * (w * z + x * y), 1 - 2 * (y * y + z * z));
    size++;
  }
  if (size < 2) return null;
  return {
    roll: figures(roll.subarray(0, size)),
    pitch: figures(pitch.subarray(0, size)),
    yaw: figures(yaw.subarray(0, size)),
  };
}

function figures(values: Float64Array): AttitudeFigures {
  const n = values.length;
  let sum = 0;
  let squares = 0;
  for (let i = 0; i < n; i++) {
    sum += values[i]!;
    squares += values[i]! ** 2;
  }
  const mean = sum / n;
  let about = 0;
  for (let i = 0; i < n; i++) about += (values[i]! - mean) ** 2;
  return { sd: Math.sqrt(about / (n - 1)), rms: Math.sqrt(squares / n) };
}
