import type { Settings } from "../contract/settings.ts";
import type { CheckCode } from "../foundation/checks.ts";
import type { PoseTrack } from "../foundation/tracks.ts";

/** Poses that are no measurement: what was found, how many, and when (seconds on the signal's clock). */
export interface Fault {
  readonly code: CheckCode;
  readonly samples: number;
  readonly stretches: readonly (readonly [number, number])[];
  readonly detail: string;
  readonly hint: string;
}

/** A screened pose track: only what was measured is left; what was lost is a gap in `t`. */
export interface ScreenedPoses {
  readonly track: PoseTrack;
  /** median interval of the stamps as logged, seconds */
  readonly interval: number;
  readonly faults: readonly Fault[];
  /** stretches left out because the pose jumped away and came back; input to the search for swapped bodies */
  readonly excursions: readonly Excursion[];
}

export interface Excursion {
  readonly from: number;
  readonly to: number;
  /** position just before, and at the start of, the excursion, metres */
  readonly before: readonly [number, number, number];
  readonly after: readonly [number, number, number];
}

/** Columns before screening: any number may be wrong. */
export interface RawPoses extends PoseTrack {}

/**
 * Removes poses that the capture system did not measure: attitudes that are none, frozen, zeroed and interpolated
 * stretches, and excursions (the pose jumps away and returns). Gaps between stamps are reported, not removed.
 *
 * @param raw       poses sorted by time, strictly increasing `t`, metres; quaternions as logged
 * @returns the remaining poses with unit quaternions of continuous sign, and the faults found
 */
export function screenPoses(raw: RawPoses, settings: Settings): ScreenedPoses {
  const n = raw.t.length;
  const interval = medianInterval(raw.t);
  const bad = findBadAttitudes(raw, settings);
  const frozen = findFrozen(raw, bad, settings);
  const interpolated = findInterpolated(raw, interval, bad, frozen, settings);
  const dropped = new Uint8Array(n);
  for (let i = 0; i < n; i++) dropped[i] = bad[i]! | frozen[i]! | interpolated[i]!;
  const { jumped, excursions } = findExcursions(raw, dropped, interval, settings);
  const faults: Fault[] = [];
  const add = (code: CheckCode, flags: Uint8Array, detail: string, hint: string): void => {
    const stretches = stretchesOf(raw.t, flags, interval);
    if (stretches.length > 0) faults.push({ code, samples: count(flags), stretches, detail, hint });
  };
  add(
    "bad-quaternion",
    bad,
    "poses whose quaternion is zero, not finite or not of unit norm",
    "capture systems write such poses where they lost the body; they were left out",
  );
  add(
    "frozen",
    frozen,
    "poses that repeat exactly or stand at the origin",
    "the stream went on with an old pose while the body was lost; the copies were left out",
  );
  add(
    "frozen",
    interpolated,
    "poses on an exact straight line between their neighbours: interpolated, not measured",
    "switch off gap filling in the capture software; the filled poses were left out",
  );
  add(
    "jump",
    jumped,
    "poses that jump away faster than the vehicle can fly, and come back",
    "look for reflections, a body with symmetric markers, or swapped labels; they were left out",
  );
  const gaps = findGaps(raw.t, interval, settings);
  if (gaps.length > 0) {
    faults.push({
      code: "gap",
      samples: gaps.reduce((sum, [a, b]) => sum + Math.max(1, Math.round((b - a) / interval) - 1), 0),
      stretches: gaps,
      detail: "samples missing from the stream",
      hint: "look for occluded markers or a dropped network link; nothing was filled in",
    });
  }
  for (let i = 0; i < n; i++) dropped[i] = dropped[i]! | jumped[i]!;
  return { track: keepPoses(raw, dropped), interval, faults, excursions };
}

/** Median step of a strictly increasing time column, seconds; NaN for fewer than two instants. */
export function medianInterval(t: Float64Array): number {
  if (t.length < 2) return Number.NaN;
  const steps = new Float64Array(t.length - 1);
  for (let i = 1; i < t.length; i++) steps[i - 1] = t[i]! - t[i - 1]!;
  steps.sort();
  return steps[steps.length >> 1]!;
}

/** Gaps of a time column: pairs of neighbouring instants further apart than `gap_intervals` median intervals. */
export function findGaps(t: Float64Array, interval: number, settings: Settings): [number, number][] {
  const gaps: [number, number][] = [];
  for (let i = 1; i < t.length; i++) {
    if (t[i]! - t[i - 1]! > settings.gap_intervals * interval) gaps.push([t[i - 1]!, t[i]!]);
  }
  return gaps;
}

function count(flags: Uint8Array): number {
  let sum = 0;
  for (let i = 0; i < flags.length; i++) sum += flags[i]!;
  return sum;
}

/** Flagged samples joined to stretches; flags less than two intervals apart belong together. */
function stretchesOf(t: Float64Array, flags: Uint8Array, interval: number): [number, number][] {
  const stretches: [number, number][] = [];
  for (let i = 0; i < flags.length; i++) {
    if (flags[i] === 0) continue;
    const last = stretches.at(-1);
    if (last && t[i]! - last[1] <= 2.5 * interval) last[1] = t[i]!;
    else stretches.push([t[i]!, t[i]!]);
  }
  return stretches;
}

function findBadAttitudes(raw: RawPoses, settings: Settings): Uint8Array {
  const flags = new Uint8Array(raw.t.length);
  for (let i = 0; i < flags.length; i++) {
    const norm = quaternionNorm(raw, i);
    const finite = Number.isFinite(raw.x[i]! + raw.y[i]! + raw.z[i]!);
    // written so that NaN counts as bad
    if (!(Math.abs(norm - 1) <= settings.quaternion_norm_tolerance) || !finite) flags[i] = 1;
  }
  return flags;
}

function samePose(raw: RawPoses, i: number, j: number): boolean {
  return (
    raw.x[i] === raw.x[j] &&
    raw.y[i] === raw.y[j] &&
    raw.z[i] === raw.z[j] &&
    raw.qx[i] === raw.qx[j] &&
    raw.qy[i] === raw.qy[j] &&
    raw.qz[i] === raw.qz[j] &&
    raw.qw[i] === raw.qw[j]
  );
}

/** All but the first of at least `frozen_poses` identical poses in a row, and every pose exactly at the origin. */
function findFrozen(raw: RawPoses, bad: Uint8Array, settings: Settings): Uint8Array {
  const n = raw.t.length;
  const flags = new Uint8Array(n);
  let start = 0;
  for (let i = 1; i <= n; i++) {
    if (i < n && samePose(raw, i, i - 1)) continue;
    if (i - start >= settings.frozen_poses) flags.fill(1, start + 1, i);
    start = i;
  }
  for (let i = 0; i < n; i++) {
    if (raw.x[i] === 0 && raw.y[i] === 0 && raw.z[i] === 0) flags[i] = 1;
    if (bad[i] === 1) flags[i] = 0;
  }
  return flags;
}

/** Interior samples of stretches on which every sample is the mean of its neighbours, in time or in number, but moving. */
function findInterpolated(
  raw: RawPoses,
  interval: number,
  bad: Uint8Array,
  frozen: Uint8Array,
  settings: Settings,
): Uint8Array {
  const n = raw.t.length;
  const flags = new Uint8Array(n);
  const straight = new Uint8Array(n);
  const columns = [raw.x, raw.y, raw.z];
  for (let i = 1; i + 1 < n; i++) {
    if (bad[i]! | frozen[i]! | bad[i - 1]! | bad[i + 1]!) continue;
    const span = raw.t[i + 1]! - raw.t[i - 1]!;
    if (span > 4 * interval) continue;
    const fraction = (raw.t[i]! - raw.t[i - 1]!) / span;
    let byTime = true;
    let byNumber = true;
    let moved = false;
    for (const column of columns) {
      const a = column[i - 1]!;
      const b = column[i + 1]!;
      // single-precision logs round at 6e-8 of the value; real noise is a hundred times larger
      const tolerance = 1e-9 + 2e-7 * Math.abs(a);
      if (Math.abs(column[i]! - (a + fraction * (b - a))) > tolerance) byTime = false;
      if (Math.abs(column[i]! - 0.5 * (a + b)) > tolerance) byNumber = false;
      if (Math.abs(b - a) > 4 * tolerance) moved = true;
    }
    if ((byTime || byNumber) && moved) straight[i] = 1;
  }
  let start = -1;
  for (let i = 0; i <= n; i++) {
    if (i < n && straight[i] === 1) {
      if (start < 0) start = i;
    } else if (start >= 0) {
      if (i - start >= settings.interpolated_poses) flags.fill(1, start, i);
      start = -1;
    }
  }
  return flags;
}

/**
 * Cuts the track at impossible steps and drops the pieces that do not continue what came before. Where the pose never
 * comes back, the longer part stays: which of the two is right cannot be told from one body alone.
 */
function findExcursions(
  raw: RawPoses,
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

function quaternionNorm(raw: RawPoses, i: number): number {
  return Math.sqrt(raw.qx[i]! ** 2 + raw.qy[i]! ** 2 + raw.qz[i]! ** 2 + raw.qw[i]! ** 2);
}

function point(raw: RawPoses, i: number): [number, number, number] {
  return [raw.x[i]!, raw.y[i]!, raw.z[i]!];
}

function distance(raw: RawPoses, i: number, j: number): number {
  return Math.sqrt((raw.x[i]! - raw.x[j]!) ** 2 + (raw.y[i]! - raw.y[j]!) ** 2 + (raw.z[i]! - raw.z[j]!) ** 2);
}

function turnAngle(raw: RawPoses, i: number, j: number): number {
  const dot = Math.abs(
    raw.qx[i]! * raw.qx[j]! + raw.qy[i]! * raw.qy[j]! + raw.qz[i]! * raw.qz[j]! + raw.qw[i]! * raw.qw[j]!,
  );
  return dot >= 1 ? 0 : 2 * Math.acos(dot);
}

/** 95th percentile of the speed from step to step, m/s; steps shorter than half an interval count as half an interval. */
function usualSpeed(raw: RawPoses, kept: Uint32Array, interval: number): number {
  const speeds = new Float64Array(kept.length - 1);
  for (let k = 1; k < kept.length; k++) {
    const dt = Math.max(raw.t[kept[k]!]! - raw.t[kept[k - 1]!]!, 0.5 * interval);
    speeds[k - 1] = distance(raw, kept[k]!, kept[k - 1]!) / dt;
  }
  speeds.sort();
  return speeds[Math.floor(0.95 * (speeds.length - 1))]!;
}

function keepPoses(raw: RawPoses, dropped: Uint8Array): PoseTrack {
  const size = dropped.length - count(dropped);
  const columns = ["t", "x", "y", "z", "qx", "qy", "qz", "qw"] as const;
  const out = Object.fromEntries(columns.map((name) => [name, new Float64Array(size)])) as Record<
    (typeof columns)[number],
    Float64Array
  >;
  let k = 0;
  for (let i = 0; i < dropped.length; i++) {
    if (dropped[i] === 1) continue;
    const norm = quaternionNorm(raw, i);
    let sign = 1 / norm;
    if (k > 0) {
      const dot =
        raw.qx[i]! * out.qx[k - 1]! +
        raw.qy[i]! * out.qy[k - 1]! +
        raw.qz[i]! * out.qz[k - 1]! +
        raw.qw[i]! * out.qw[k - 1]!;
      if (dot < 0) sign = -sign;
    }
    out.t[k] = raw.t[i]!;
    out.x[k] = raw.x[i]!;
    out.y[k] = raw.y[i]!;
    out.z[k] = raw.z[i]!;
    out.qx[k] = raw.qx[i]! * sign;
    out.qy[k] = raw.qy[i]! * sign;
    out.qz[k] = raw.qz[i]! * sign;
    out.qw[k] = raw.qw[i]! * sign;
    k++;
  }
  return out;
}
