import type { BenchSettings } from "../contract/benchSettings.ts";
import { axes, type PointTrack } from "../foundation/tracks.ts";
import { brentMinimum } from "../numeric/brentMinimum.ts";
import { extent, mean } from "../numeric/descriptive.ts";
import { leastSquares } from "../numeric/leastSquares.ts";
import type { WrenchColumns } from "./wrench.ts";

export interface JoinedClocks {
  /** wrench's stamp less the arm's of the same instant, seconds */
  readonly offset: number;
  /** share of the wrench that the arm explains there */
  readonly explained: number;
  /** what is left there over what is left at the next best offset, half a cycle or more away: near 1, another does as well */
  readonly rivalry: number;
}

/** Both are brought to this rate, Hz: what moves an arm is slower. */
const rate = 50;
const reach = 5;
const channels = ["fx", "fy", "fz", "mx", "my"] as const;

/**
 * Joins the clocks of sensor and arm by force and arm motion: at the right offset every channel is c0 + c1 t + a s + b s'', s the
 * arm's position along its main axis (weight turns with s, inertia pulls with s''). A cyclic motion fits again a period later;
 * starts and stops tell the periods apart, so that the whole file is used.
 *
 * A delay that both share cannot be seen, and one in the sensor's filter is taken for an offset.
 *
 * @returns null where the two do not overlap, or the arm does not move
 */
export function joinClocks(
  t: Float64Array,
  wrench: WrenchColumns,
  arm: PointTrack,
  { least_travel }: BenchSettings,
): JoinedClocks | null {
  const main = axes.reduce((a, b) => (rangeOf(arm[b]) > rangeOf(arm[a]) ? b : a));
  if (rangeOf(arm[main]) < least_travel) return null;
  const [first, last] = [t[0]!, t.at(-1)!];
  const n = Math.floor((last - first) * rate);
  if (n < 100) return null;
  const times = Float64Array.from({ length: n }, (_, i) => first + i / rate);
  const averaged = channels.map((name) => blockMeans(t, wrench[name], times));
  const total = averaged.map((column) => leftOf(column, [times]));
  const own = blockMeans(arm.t, arm[main], steps(arm.t));
  const ownTimes = steps(arm.t);
  // over a tenth of a second to either side: closer ones are noise
  const bend = own.map((value, i) =>
    i < reach || i >= own.length - reach
      ? 0
      : ((own[i - reach]! + own[i + reach]! - 2 * value) / reach ** 2) * rate ** 2,
  );
  const cost = (offset: number): number => {
    const [s, a] = [own, bend].map((column) => interpolated(ownTimes, column, times, offset)) as [
      Float64Array,
      Float64Array,
    ];
    // the two channels that the motion explains best: the others are noise, which no offset mends
    const left = averaged.map((column, c) => leftOf(column, [times, s, a]) / total[c]!).sort((p, q) => p - q);
    return (left[0]! + left[1]!) / 2;
  };
  // the arm at rest is like its ends: offsets as far as half of the shorter record
  const widest = 0.5 * Math.min(last - first, arm.t.at(-1)! - arm.t[0]!);
  const middle = first - arm.t[0]!;
  const near = Math.abs(middle) > 1e6 ? middle : 0;
  const grid = Array.from({ length: Math.floor((2 * widest) / 0.04) + 1 }, (_, i) => near - widest + 0.04 * i);
  const costs = grid.map(cost);
  const best = costs.indexOf(Math.min(...costs));
  const offset = brentMinimum(cost, grid[best]! - 0.05, grid[best]! + 0.05, 1e-5);
  const rivals = costs.filter((_, i) => Math.abs(grid[i]! - offset) > 0.4);
  return { offset, explained: 1 - cost(offset), rivalry: cost(offset) / Math.min(...rivals) };
}

const rangeOf = (column: Float64Array): number => {
  const { low, high } = extent(column);
  return high - low;
};

const steps = (t: Float64Array): Float64Array =>
  Float64Array.from({ length: Math.max(1, Math.floor((t.at(-1)! - t[0]!) * rate)) }, (_, i) => t[0]! + i / rate);

/** Means of neighbouring samples, brought to equal steps by their mean instants. */
function blockMeans(t: Float64Array, column: Float64Array, times: Float64Array): Float64Array {
  const block = Math.max(1, Math.round((t.length - 1) / (t.at(-1)! - t[0]!) / rate));
  const n = Math.floor(t.length / block);
  const of = (values: Float64Array): Float64Array =>
    Float64Array.from({ length: n }, (_, k) => mean(values.subarray(k * block, (k + 1) * block)));
  const [at, values] = [of(t), of(column)];
  let k = 0;
  return times.map((time) => {
    while (k < n - 2 && at[k + 1]! < time) k++;
    const share = Math.min(1, Math.max(0, (time - at[k]!) / (at[k + 1]! - at[k]!)));
    return values[k]! + share * (values[k + 1]! - values[k]!);
  });
}

function interpolated(from: Float64Array, column: Float64Array, times: Float64Array, offset: number): Float64Array {
  const first = from[0]!;
  return times.map((time) => {
    const place = Math.min(Math.max((time - offset - first) * rate, 0), column.length - 1.001);
    const i = Math.floor(place);
    return column[i]! + (place - i) * (column[i + 1]! - column[i]!);
  });
}

/** Sum of squares that a constant and the columns leave. */
function leftOf(values: Float64Array, columns: readonly Float64Array[]): number {
  const one = new Float64Array(values.length).fill(1);
  try {
    const fit = leastSquares([one, ...columns], values);
    return fit.residualStandardDeviation ** 2;
  } catch {
    return Number.POSITIVE_INFINITY;
  }
}
