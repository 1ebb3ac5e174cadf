import type { Settings } from "../contract/settings.ts";
import type { PoseTrack } from "../foundation/tracks.ts";
import { median, quantile } from "../numeric/descriptive.ts";

/** A stretch in which a pose stood elsewhere. */
export interface Excursion {
  readonly from: number;
  readonly to: number;
  /** position just before, and at the start of, the excursion, metres */
  readonly before: readonly [number, number, number];
  readonly after: readonly [number, number, number];
}

/** Pieces looked at for the return of a pose. */
const lookAhead = 40;

/** Poses that were cut out, by whether the track came back from where they are. */
export interface Jumps {
  readonly returned: Uint8Array;
  readonly lost: Uint8Array;
  readonly excursions: readonly Excursion[];
}

/**
 * Cuts the track at impossible steps and drops the pieces that do not continue what came before; single poses that stand
 * aside of both neighbours go as well. Where the pose never comes back, the longer part stays: which of the two is right
 * cannot be distinguished from one body alone.
 *
 * @param dropped  1: a pose that is out already
 */
export function findExcursions(raw: PoseTrack, dropped: Uint8Array, interval: number, settings: Settings): Jumps {
  const returned = new Uint8Array(raw.t.length);
  const lost = new Uint8Array(raw.t.length);
  const excursions: Excursion[] = [];
  const all = new Uint32Array(raw.t.length);
  let size = 0;
  for (let i = 0; i < raw.t.length; i++) if (dropped[i] === 0) all[size++] = i;
  if (size < 3) return { returned, lost, excursions };
  excursions.push(...markSpikes(raw, all.subarray(0, size), interval, returned, settings));
  const kept = excursions.length === 0 ? all.subarray(0, size) : all.subarray(0, size).filter((i) => returned[i] === 0);
  const speeds = possibleSteps(raw, kept, interval, settings);
  const pieces = piecesOf(raw, kept, interval, speeds, settings);
  for (let p: number | null = 0; p !== null && p < pieces.length - 1; ) {
    const found = excursionAfter(p, { raw, kept, pieces, speeds, settings });
    if (found !== null) {
      const { from, to, at, comesBack } = found;
      for (let k = from; k < to; k++) (comesBack ? returned : lost)[kept[k]!] = 1;
      excursions.push({
        from: raw.t[kept[from]!]!,
        to: raw.t[kept[to - 1]!]!,
        before: point(raw, kept[at - 1]!),
        after: point(raw, kept[at]!),
      });
    }
    // without an excursion the step was fast, but possible
    p = found === null ? p + 1 : found.next;
  }
  return { returned, lost, excursions };
}

interface Speeds {
  readonly speed: Float64Array;
  readonly turn: Float64Array;
  readonly leastTurn: number;
  readonly limit: number;
  /** the usual speed, a little more: after an excursion the vehicle has moved on, but no faster than it usually does */
  readonly gait: number;
  /** whether a step from one pose to another is beyond a speed (m/s, with some slack in m) or beyond all turning */
  readonly beyond: (from: number, to: number, speed: number, slack: number) => boolean;
}

function possibleSteps(raw: PoseTrack, kept: Uint32Array, interval: number, settings: Settings): Speeds {
  const { speed, turn } = stepsOf(raw, kept, interval);
  const usual = usualSize(speed);
  const leastTurn = Math.max(settings.jump_turn, settings.jump_turn_ratio * usualSize(turn));
  const limit = Math.max(settings.jump_speed, settings.jump_speed_ratio * usual);
  const beyond = (from: number, to: number, fastest: number, slack: number): boolean => {
    const dt = Math.max(raw.t[to]! - raw.t[from]!, 0.5 * interval);
    const turned = turnAngle(raw, from, to);
    // a turn beyond the rate limit only counts where it is large: attitude noise over a short step is not a jump
    return (
      distance(raw, from, to) > fastest * dt + slack || (turned > leastTurn && turned > settings.jump_turn_rate * dt)
    );
  };
  return { speed, turn, leastTurn, limit, gait: Math.min(limit, Math.max(0.5, 2 * usual)), beyond };
}

/** Stretches between suspicious steps: first and last place in `kept` of each. */
function piecesOf(
  raw: PoseTrack,
  kept: Uint32Array,
  interval: number,
  { speed, turn, leastTurn, limit }: Speeds,
  settings: Settings,
): (readonly [number, number])[] {
  const share = settings.jump_suspicious_share;
  const starts = [0];
  for (let k = 1; k < kept.length; k++) {
    const dt = Math.max(raw.t[kept[k]!]! - raw.t[kept[k - 1]!]!, 0.5 * interval);
    const turned = turn[k - 1]!;
    const isFast = speed[k - 1]! > share * limit;
    if (isFast || (turned > leastTurn && turned > share * settings.jump_turn_rate * dt)) starts.push(k);
  }
  return starts.map((from, p) => [from, (starts[p + 1] ?? kept.length) - 1] as const);
}

/** Poses to be cut out, [from, to) in `kept`; `at` is the first that stands elsewhere. */
interface Cut {
  readonly from: number;
  readonly to: number;
  readonly at: number;
  readonly comesBack: boolean;
  /** the piece to go on from; null: none is left */
  readonly next: number | null;
}

/** The excursion that begins after a piece; null where the step to the next is possible. */
function excursionAfter(
  p: number,
  context: {
    readonly raw: PoseTrack;
    readonly kept: Uint32Array;
    readonly pieces: readonly (readonly [number, number])[];
    readonly speeds: Speeds;
    readonly settings: Settings;
  },
): Cut | null {
  const { raw, kept, pieces, settings } = context;
  const { beyond, limit, gait } = context.speeds;
  const startOf = (piece: number): number => pieces[piece]![0];
  const end = kept[pieces[p]![1]]!;
  const horizon = Math.min(pieces.length, p + lookAhead);
  let next = p + 2;
  while (next < horizon && beyond(end, kept[startOf(next)]!, gait, 0.02)) next++;
  const comesBack = next < horizon;
  const at = startOf(p + 1);
  if (!beyond(end, kept[at]!, limit, 0)) {
    // where only the way back is impossible, it may be chance: such an excursion must be short to be believed
    const exit = comesBack && beyond(kept[startOf(next) - 1]!, kept[startOf(next)]!, limit, 0);
    if (!exit || raw.t[kept[startOf(next)]!]! - raw.t[end]! >= settings.jump_one_sided) return null;
  }
  if (comesBack) return { from: at, to: startOf(next), at, comesBack, next };
  // which of the two parts is right is not known: the longer stays
  return at < kept.length - at
    ? { from: 0, to: at, at, comesBack, next: p + 1 }
    : { from: at, to: kept.length, at, comesBack, next: null };
}

/**
 * Marks single poses that stand aside of both neighbours: too far for the vehicle to go there and back within two samples.
 * Only for captures of at least 40 Hz, where a real motion bends by less than a centimetre in two samples.
 */
function markSpikes(
  raw: PoseTrack,
  kept: Uint32Array,
  interval: number,
  flags: Uint8Array,
  settings: Settings,
): Excursion[] {
  const found: Excursion[] = [];
  if (interval > 0.026) return found;
  const asides = asidesOf(raw, kept);
  const least = Math.max(settings.spike_distance, settings.spike_usual_ratio * median(asides));
  for (let k = 1; k + 1 < kept.length; k++) {
    if (asides[k]! < least) continue;
    const [a, i, b] = [kept[k - 1]!, kept[k]!, kept[k + 1]!];
    if (raw.t[b]! - raw.t[a]! > 3 * interval || flags[a] === 1) continue;
    if (asides[k]! <= settings.spike_neighbour_ratio * distance(raw, a, b)) continue;
    flags[i] = 1;
    found.push({ from: raw.t[i]!, to: raw.t[i]!, before: point(raw, a), after: point(raw, i) });
  }
  return found;
}

/** Distance of each pose from the middle of its neighbours, metres; 0 for the first and the last. */
function asidesOf({ x, y, z }: PoseTrack, kept: Uint32Array): Float64Array {
  const asides = new Float64Array(kept.length);
  for (let k = 1; k + 1 < kept.length; k++) {
    const a = kept[k - 1]!;
    const i = kept[k]!;
    const b = kept[k + 1]!;
    const dx = x[i]! - 0.5 * (x[a]! + x[b]!);
    const dy = y[i]! - 0.5 * (y[a]! + y[b]!);
    const dz = z[i]! - 0.5 * (z[a]! + z[b]!);
    asides[k] = Math.sqrt(dx * dx + dy * dy + dz * dz);
  }
  return asides;
}

function point(raw: PoseTrack, i: number): [number, number, number] {
  return [raw.x[i]!, raw.y[i]!, raw.z[i]!];
}

function distance(raw: PoseTrack, i: number, j: number): number {
  return Math.sqrt((raw.x[i]! - raw.x[j]!) ** 2 + (raw.y[i]! - raw.y[j]!) ** 2 + (raw.z[i]! - raw.z[j]!) ** 2);
}

function turnAngle(raw: PoseTrack, i: number, j: number): number {
  return angleOf(
    Math.abs(raw.qx[i]! * raw.qx[j]! + raw.qy[i]! * raw.qy[j]! + raw.qz[i]! * raw.qz[j]! + raw.qw[i]! * raw.qw[j]!),
  );
}

/** Angle between two attitudes from the size of their quaternions' scalar product. */
function angleOf(dot: number): number {
  // near 1 the arc cosine's series, 2 sqrt(2 (1 - dot)), is right to 1e-3 of the angle and ten times as fast
  return dot > 0.995 ? 2 * Math.sqrt(2 * Math.max(0, 1 - dot)) : 2 * Math.acos(dot);
}

/** Speed (m/s) and turn (rad) from each pose to the next; steps shorter than half an interval count as half an interval. */
function stepsOf(raw: PoseTrack, kept: Uint32Array, interval: number): { speed: Float64Array; turn: Float64Array } {
  const { t, x, y, z, qx, qy, qz, qw } = raw;
  const speed = new Float64Array(kept.length - 1);
  const turn = new Float64Array(kept.length - 1);
  for (let k = 1; k < kept.length; k++) {
    const i = kept[k - 1]!;
    const j = kept[k]!;
    const dx = x[j]! - x[i]!;
    const dy = y[j]! - y[i]!;
    const dz = z[j]! - z[i]!;
    speed[k - 1] = Math.sqrt(dx * dx + dy * dy + dz * dz) / Math.max(t[j]! - t[i]!, 0.5 * interval);
    turn[k - 1] = angleOf(Math.abs(qx[i]! * qx[j]! + qy[i]! * qy[j]! + qz[i]! * qz[j]! + qw[i]! * qw[j]!));
  }
  return { speed, turn };
}

/** 95th percentile, from at most 20 000 values or so. */
function usualSize(values: Float64Array): number {
  const stride = Math.max(1, Math.floor((values.length + 1) / 20_000));
  if (stride === 1) return quantile(values, 0.95);
  const some = new Float64Array(Math.ceil(values.length / stride));
  for (let s = 0; s < some.length; s++) some[s] = values[s * stride]!;
  return quantile(some, 0.95);
}
