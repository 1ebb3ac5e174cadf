import type { PoseTrack } from "../foundation/tracks.ts";
import { plainSum, plainSumOfSquares } from "../numeric/descriptive.ts";

type Attitudes = Pick<PoseTrack, "qx" | "qy" | "qz" | "qw">;

/** Roll, pitch and yaw against what was commanded, radians, at the samples that have a command. */
export interface AttitudeAngles {
  readonly roll: Float64Array;
  readonly pitch: Float64Array;
  readonly yaw: Float64Array;
  /** angle between the up axes */
  readonly tilt: Float64Array;
  /** which of the n samples they are of */
  readonly rows: Uint32Array;
}

/** Attitude about the commanded one, radians. */
export interface AttitudeFigures {
  /** n - 1, about the mean */
  readonly sd: number;
  /** about the command */
  readonly rms: number;
}

/**
 * Roll, pitch and yaw (intrinsic z-y'-x'') of the rotation from the commanded to the measured attitude; and its
 * tilt, the angle between the body's up axis as commanded and as measured, whatever the heading: with x, y of that rotation's
 * quaternion, sin(tilt / 2) = sqrt(x^2 + y^2).
 *
 * @param measured   n poses, body to world
 * @param commanded  n poses at the same instants; NaN where nothing was commanded
 */
export function attitudeAngles(measured: Attitudes, commanded: Attitudes): AttitudeAngles {
  const n = measured.qw.length;
  const { qx: mx, qy: my, qz: mz, qw: mw } = measured;
  const { qx: cx, qy: cy, qz: cz, qw: cw } = commanded;
  const roll = new Float64Array(n);
  const pitch = new Float64Array(n);
  const yaw = new Float64Array(n);
  const tilt = new Float64Array(n);
  const rows = new Uint32Array(n);
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
    tilt[size] = 2 * Math.asin(Math.min(1, Math.hypot(x, y)));
    rows[size] = i;
    size++;
  }
  const kept = <T extends Float64Array | Uint32Array>(column: T): T => column.subarray(0, size) as T;
  return { roll: kept(roll), pitch: kept(pitch), yaw: kept(yaw), tilt: kept(tilt), rows: kept(rows) };
}

/** Figures of the attitude error; null for fewer than two samples with a command. */
export function attitudeError({
  roll,
  pitch,
  yaw,
  tilt,
}: AttitudeAngles):
  | (Record<"roll" | "pitch" | "yaw", AttitudeFigures> & { readonly tilt: { readonly rms: number } })
  | null {
  if (tilt.length < 2) return null;
  return {
    roll: figures(roll),
    pitch: figures(pitch),
    yaw: figures(yaw),
    tilt: { rms: Math.sqrt(plainSumOfSquares(tilt) / tilt.length) },
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
