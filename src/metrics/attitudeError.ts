import type { PoseTrack } from "../foundation/tracks.ts";
import { plainSum, plainSumOfSquares } from "../numeric/plainSum.ts";

type Attitudes = Pick<PoseTrack, "qx" | "qy" | "qz" | "qw">;

/** Attitude about the commanded one, radians. */
export interface AttitudeFigures {
  /** n - 1, about the mean */
  readonly sd: number;
  /** about the command */
  readonly rms: number;
}

/**
 * Attitude error: roll, pitch and yaw (intrinsic z-y'-x'') of the rotation from the commanded to the measured attitude; and its
 * tilt, the angle between the body's up axis as commanded and as measured, whatever the heading: with x, y of that rotation's
 * quaternion, sin(tilt / 2) = sqrt(x^2 + y^2).
 *
 * @param measured   n poses, body to world
 * @param commanded  n poses at the same instants; NaN where nothing was commanded
 * @returns null for fewer than two samples with a command
 */
export function attitudeError(
  measured: Attitudes,
  commanded: Attitudes,
): (Record<"roll" | "pitch" | "yaw", AttitudeFigures> & { readonly tilt: { readonly rms: number } }) | null {
  const n = measured.qw.length;
  const { qx: mx, qy: my, qz: mz, qw: mw } = measured;
  const { qx: cx, qy: cy, qz: cz, qw: cw } = commanded;
  const roll = new Float64Array(n);
  const pitch = new Float64Array(n);
  const yaw = new Float64Array(n);
  let tilts = 0;
  let size = 0;
  for (let i = 0; i < n; i++) {
    const ax = -cx[i]!;
    const ay = -cy[i]!;
    const az = -cz[i]!;
    const aw = cw[i]!;
    if (!Number.isFinite(aw)) continue;
    const bx = mx[i]!;
    const by = my[i]!;
    const bz = mz[i]!;
    const bw = mw[i]!;
    // conj(commanded) * measured, written out: this runs once a sample
    const x = aw * bx + ax * bw + ay * bz - az * by;
    const y = aw * by - ax * bz + ay * bw + az * bx;
    const z = aw * bz + ax * by - ay * bx + az * bw;
    const w = aw * bw - ax * bx - ay * by - az * bz;
    roll[size] = Math.atan2(2 * (w * x + y * z), 1 - 2 * (x * x + y * y));
    pitch[size] = Math.asin(Math.max(-1, Math.min(1, 2 * (w * y - z * x))));
    yaw[size] = Math.atan2(2 * (w * z + x * y), 1 - 2 * (y * y + z * z));
    tilts += (2 * Math.asin(Math.min(1, Math.hypot(x, y)))) ** 2;
    size++;
  }
  if (size < 2) return null;
  return {
    roll: figures(roll.subarray(0, size)),
    pitch: figures(pitch.subarray(0, size)),
    yaw: figures(yaw.subarray(0, size)),
    tilt: { rms: Math.sqrt(tilts / size) },
  };
}

function figures(values: Float64Array): AttitudeFigures {
  const n = values.length;
  const mean = plainSum(values) / n;
  return {
    sd: Math.sqrt(plainSumOfSquares(values, mean) / (n - 1)),
    rms: Math.sqrt(plainSumOfSquares(values) / n),
  };
}
