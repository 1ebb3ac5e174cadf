import type { Settings } from "../contract/settings.ts";

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
