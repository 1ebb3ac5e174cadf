import type { Settings } from "../contract/settings.ts";
import type { RecordedSignal } from "../foundation/recording.ts";
import { extent, median } from "../numeric/descriptive.ts";
import { gatherBy, lowerBound } from "../numeric/sortedColumns.ts";
import { buildCommandTrack, type CommandTrack } from "./commandTrack.ts";
import { medianInterval } from "./poseFaults.ts";

/** A column that varies by less than this share of its range is at rest, or by less than so many standard deviations of its noise. */
const still = 0.005;
const noises = 8;
/** How long around a sample that is asked, seconds, and at least this share of a period: the turning of a slow stroke is no rest. */
const around = 0.15;
const aroundPeriod = 0.05;
/** Samples that are asked of on either side, about. */
const pointsAround = 20;
/** The least length of a rest, seconds, and at least this share of a period. */
const leastRest = 1;
const leastRestPeriod = 0.3;
/** White noise has a mean square of successive differences twice its variance; motion, seen often enough, a small part of that. */
const whiteNoise = 0.5;

/**
 * A column that moves with the arm (a joint angle, a motor's position), of any unit, as the curve of a command along one axis, so
 * that windows, cycles and phase are found by it as by a command in metres: scaled so that its range is 1, and at rest held to its
 * median. What is commanded rests to the last digit and stays as it is; what is measured has noise, which would pass for motion.
 *
 * @param t         instants, seconds, strictly increasing, one per entry of `order`
 * @param order     message index of each instant
 * @param declared  what the manifest says of the time between two messages; null: decided from them
 * @param period    of the declared trajectory, seconds; null where it has none
 * @returns null where the column holds no number
 */
export function armPhase(
  signal: RecordedSignal,
  t: Float64Array,
  order: Uint32Array,
  { declared, period }: { declared: "hold" | "linear" | null; period: number | null },
  settings: Settings,
): CommandTrack | null {
  const logged = gatherBy(order)(signal.columns.value!);
  const { low, high } = extent(logged);
  if (!(high >= low)) return null;
  // noise alone, and a constant, are no motion
  const scale = high > low && !isNoise(logged) ? 1 / (high - low) : 0;
  const scaled = logged.map((value) => (value - low) * scale);
  const x = heldAtRest(t, scaled, period ?? 0);
  const zeros = new Float64Array(x.length);
  const drawn = { ...signal, columns: { x, y: zeros, z: zeros }, given: {} };
  return buildCommandTrack(
    drawn,
    t,
    Uint32Array.from(x, (_, i) => i),
    declared,
    settings,
  );
}

/** By von Neumann's ratio: mean square of successive differences over twice the variance. */
function isNoise(column: Float64Array): boolean {
  const known = column.filter(Number.isFinite);
  const mean = known.reduce((sum, value) => sum + value, 0) / known.length;
  let [squares, steps] = [0, 0];
  for (let i = 0; i < known.length; i++) {
    squares += (known[i]! - mean) ** 2;
    if (i > 0) steps += (known[i]! - known[i - 1]!) ** 2;
  }
  return squares > 0 && steps > 2 * whiteNoise * squares;
}

/**
 * The column with every rest at one level, that of its last second: rests sag. What lies at the ends of a rest and has left its
 * level is motion: a rest without noise, and the slow beginning of a ramp, stay as they are.
 *
 * @param value  of range 1
 */
function heldAtRest(t: Float64Array, value: Float64Array, period: number): Float64Array {
  const out = value.slice();
  const reach = Math.max(around, aroundPeriod * period);
  const least = Math.max(leastRest, leastRestPeriod * period);
  const limit = Math.max(still, noises * noiseOf(value));
  const stride = Math.max(1, Math.round(reach / (pointsAround * medianInterval(t))));
  const resting = (i: number): boolean => isStill(t, value, i, { reach, stride, limit });
  for (let i = 0; i < t.length; i++) {
    if (!resting(i)) continue;
    const first = i;
    while (i + 1 < t.length && resting(i + 1)) i++;
    if (t[i]! - t[first]! < least) continue;
    const begins = median(value.subarray(first, lowerBound(t, t[first]! + leastRest)));
    const ends = median(value.subarray(Math.max(first, lowerBound(t, t[i]! - leastRest)), i + 1));
    // where the recording begins or ends at rest there is no motion to keep
    const from = first === 0 ? 0 : edgeOf(value, { level: begins, at: first, inwards: 1, limit });
    const to = i === t.length - 1 ? i : edgeOf(value, { level: ends, at: i, inwards: -1, limit });
    if (from < to) out.fill(ends, from, to + 1);
  }
  return out;
}

/** Standard deviation of white noise by second differences, which slow motion hardly enters: their median, as of a normal distribution. */
function noiseOf(value: Float64Array): number {
  const second = value.subarray(2).map((next, i) => Math.abs(next - 2 * value[i + 1]! + value[i]!));
  const known = second.filter(Number.isFinite);
  return known.length === 0 ? 0 : (1.4826 * median(known)) / Math.sqrt(6);
}

/** Whether a column hardly varies around a sample; not where nothing is known of it. */
function isStill(
  t: Float64Array,
  value: Float64Array,
  at: number,
  { reach, stride, limit }: { reach: number; stride: number; limit: number },
): boolean {
  let [low, high] = [value[at]!, value[at]!];
  for (const step of [-stride, stride])
    for (let i = at + step; i >= 0 && i < t.length && Math.abs(t[at]! - t[i]!) <= reach; i += step) {
      low = Math.min(low, value[i]!);
      high = Math.max(high, value[i]!);
      if (!(high - low < limit)) return false;
    }
  return high - low < limit;
}

/** Where a rest ends: the outermost sample that lies at its level or has just crossed it, before the column leaves for good. */
function edgeOf(
  value: Float64Array,
  { level, at, inwards, limit }: { level: number; at: number; inwards: 1 | -1; limit: number },
): number {
  let i = at;
  // noise goes to either side by half of what counts as still
  while (Math.abs(value[i - inwards]! - level) <= limit / 2) i -= inwards;
  const side = Math.sign(value[i]! - level);
  while (side !== 0 && Math.sign(value[i]! - level) === side) i += inwards;
  return i;
}
