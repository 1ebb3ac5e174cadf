import type { MotionSight } from "./motionSight.ts";

/** Smoothed rates on an even grid of the sight's own clock; `known` is 0 near the ends and near gaps. */
export interface RateGrid {
  /** instant of grid point 0, seconds on the sight's clock */
  readonly start: number;
  readonly step: number;
  readonly rates: readonly [Float64Array, Float64Array, Float64Array];
  readonly known: Uint8Array;
}

/** Rates on an even grid as they are, not smoothed. */
export interface RawRates {
  readonly sight: MotionSight;
  readonly step: number;
  readonly rates: readonly Float64Array[];
}

/**
 * Mean rates between grid points by differences of the integral, which neither shift nor alias an unevenly sampled signal.
 *
 * @param step  grid step, seconds
 */
export function rawRates(sight: MotionSight, step: number): RawRates {
  const start = startOf(sight);
  const last = sight.t[sight.t.length - 1] ?? 0;
  // an even record is a whole number of steps long, to rounding
  const size = Math.max(0, Math.floor((last - start) / step + 1e-6));
  const rates = sight.integrals.map((integral) => {
    const rate = new Float64Array(size);
    fillDifferences(sight.t, integral, start, step, rate);
    return rate;
  });
  return { sight, step, rates };
}

// from the first sample on: the same motion gives the same grid whatever its epoch
const startOf = (sight: MotionSight): number => sight.t[0] ?? 0;

/**
 * Rates smoothed with three moving means in a row, which is close to a Gaussian and costs the same at any width.
 *
 * The smoothing keeps what a vehicle's attitude can do, below about 0.13 / smoothing Hz, and drops the differentiated capture
 * noise above.
 *
 * @param smoothing  sd of the smoothing, seconds, at least one step
 */
export function smoothRates({ sight, step, rates }: RawRates, smoothing: number): RateGrid {
  const known = new Uint8Array(rates[0]!.length).fill(1);
  const width = boxWidth(smoothing / step);
  markUnknown(sight, startOf(sight), step, (3 * (width - 1)) / 2, known);
  const smooth = rates.map((rate) => movingMean(movingMean(movingMean(rate, width), width), width));
  return { start: startOf(sight) + step / 2, step, rates: [smooth[0]!, smooth[1]!, smooth[2]!], known };
}

/** Smoothed mean rates on an even grid: `smoothRates` of `rawRates`. */
export function gridRates(sight: MotionSight, step: number, smoothing: number): RateGrid {
  return smoothRates(rawRates(sight, step), smoothing);
}

/** Differences of the integral, linear between its samples, from grid point to grid point. A loop alone: it is to stay compiled. */
function fillDifferences(
  t: Float64Array,
  integral: Float64Array,
  start: number,
  step: number,
  rate: Float64Array,
): void {
  const last = t.length - 1;
  let i = 1;
  let previous = integral[0]!;
  for (let k = 0; k < rate.length; k++) {
    const at = start + (k + 1) * step;
    while (i < last && t[i]! < at) i++;
    const fraction = (at - t[i - 1]!) / (t[i]! - t[i - 1]!);
    const next = integral[i - 1]! + fraction * (integral[i]! - integral[i - 1]!);
    rate[k] = (next - previous) / step;
    previous = next;
  }
}

/** Width, in points, of three moving means in a row that have together the variance of a Gaussian: (w^2 - 1) / 4. */
function boxWidth(sd: number): number {
  return 2 * Math.round((Math.sqrt(4 * sd * sd + 1) - 1) / 2) + 1;
}

/** Centred moving mean over `width` points (odd); the first and last half width are left at 0. */
function movingMean(values: Float64Array, width: number): Float64Array {
  const n = values.length;
  const half = (width - 1) / 2;
  const out = new Float64Array(n);
  let sum = 0;
  for (let i = 0; i < n; i++) {
    sum += values[i]!;
    if (i >= width) sum -= values[i - width]!;
    if (i >= width - 1) out[i - half] = sum / width;
  }
  return out;
}

function markUnknown(sight: MotionSight, start: number, step: number, half: number, known: Uint8Array): void {
  const size = known.length;
  known.fill(0, 0, Math.min(half, size));
  known.fill(0, Math.max(0, size - half), size);
  for (let i = 1; i < sight.t.length; i++) {
    if (sight.breaks[i] === 0) continue;
    const from = Math.floor((sight.t[i - 1]! - start) / step) - half - 1;
    const to = Math.ceil((sight.t[i]! - start) / step) + half + 1;
    known.fill(0, Math.max(0, from), Math.min(size, Math.max(0, to)));
  }
}
