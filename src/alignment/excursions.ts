import type { Settings } from "../contract/settings.ts";
import type { PoseTrack } from "../foundation/tracks.ts";
import { quantile } from "../numeric/quantile.ts";

/** A stretch in which a pose stood elsewhere. */
export interface Excursion {
  readonly from: number;
  readonly to: number;
  /** position just before, and at the start of, the excursion, metres */
  readonly before: readonly [number, number, number];
  readonly after: readonly [number, number, number];
}

/**
 * Cuts the track at impossible steps and drops the pieces that do not continue what came before. Where the pose never
 * comes back, the longer part stays: which of the two is right cannot be told from one body alone.
 */
export function findExcursions(
  raw: PoseTrack,
  dropped: Uint8Array,
  interval: number,
  settings: Settings,
): { jumped: Uint8Array; excursions: Excursion[] } {
  const jumped = new Uint8Array(raw.t.length);
  const all = new Uint32Array(raw.t.length);
  let size = 0;
  for (let i = 0; i < raw.t.length; i++) if (dropped[i] === 0) all[size++] = i;
  const kept = all.subarray(0, size);
  const excursions: Excursion[] = [];
  if (kept.length < 3) return { jumped, excursions };
  const usual = usualSpeed(raw, kept, interval);
  const limit = Math.max(settings.jump_speed, settings.jump_speed_ratio * usual);
  const impossible = (from: number, to: number, speed: number, slack: number): boolean => {
    const dt = Math.max(raw.t[to]! - raw.t[from]!, 0.5 * interval);
    const turn = turnAngle(raw, from, to);
    // a turn beyond the rate limit only counts where it is large: attitude noise over a short step is not a jump
    return distance(raw, from, to) > speed * dt + slack || (turn > 0.1 && turn > settings.jump_turn_rate * dt);
  };
  const starts = [0];
  for (let k = 1; k < kept.length; k++) {
    if (impossible(kept[k - 1]!, kept[k]!, limit, 0)) starts.push(k);
  }
  if (starts.length === 1) return { jumped, excursions };
  const pieces = starts.map((from, p) => [from, (starts[p + 1] ?? kept.length) - 1] as const);
  // after an excursion the vehicle has moved on, but no faster than it usually does
  const gait = Math.min(limit, Math.max(0.5, 2 * usual));
  let p = 0;
  while (p < pieces.length - 1) {
    const end = kept[pieces[p]![1]]!;
    let next = p + 2;
    while (next < pieces.length && next < p + 40 && impossible(end, kept[pieces[next]![0]]!, gait, 0.02)) next++;
    const returned = next < pieces.length && next < p + 40;
    const from = pieces[p + 1]![0];
    const to = returned ? pieces[next]![0] : kept.length;
    const shorterIsBefore = !returned && from < to - from;
    const [a, b] = shorterIsBefore ? [0, from] : [from, to];
    for (let k = a; k < b; k++) jumped[kept[k]!] = 1;
    excursions.push({
      from: raw.t[kept[a]!]!,
      to: raw.t[kept[b - 1]!]!,
      before: point(raw, kept[from - 1]!),
      after: point(raw, kept[from]!),
    });
    if (!returned) {
      if (!shorterIsBefore) break;
      p += 1;
    } else p = next;
  }
  return { jumped, excursions };
}

function point(raw: PoseTrack, i: number): [number, number, number] {
  return [raw.x[i]!, raw.y[i]!, raw.z[i]!];
}

function distance(raw: PoseTrack, i: number, j: number): number {
  return Math.sqrt((raw.x[i]! - raw.x[j]!) ** 2 + (raw.y[i]! - raw.y[j]!) ** 2 + (raw.z[i]! - raw.z[j]!) ** 2);
}

function turnAngle(raw: PoseTrack, i: number, j: number): number {
  const dot = Math.abs(
    raw.qx[i]! * raw.qx[j]! + raw.qy[i]! * raw.qy[j]! + raw.qz[i]! * raw.qz[j]! + raw.qw[i]! * raw.qw[j]!,
  );
  // near 1 the arc cosine's series, 2 sqrt(2 (1 - dot)), is right to 1e-3 of the angle and ten times as fast
  return dot > 0.995 ? 2 * Math.sqrt(2 * Math.max(0, 1 - dot)) : 2 * Math.acos(dot);
}

/** 95th percentile of the speed from step to step, m/s; steps shorter than half an interval count as half an interval. */
function usualSpeed(raw: PoseTrack, kept: Uint32Array, interval: number): number {
  const speeds = new Float64Array(kept.length - 1);
  for (let k = 1; k < kept.length; k++) {
    const dt = Math.max(raw.t[kept[k]!]! - raw.t[kept[k - 1]!]!, 0.5 * interval);
    speeds[k - 1] = distance(raw, kept[k]!, kept[k - 1]!) / dt;
  }
  return quantile(speeds, 0.95);
}
