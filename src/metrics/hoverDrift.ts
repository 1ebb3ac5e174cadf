import { plainSum, plainSumOfSquares, quantileReordering } from "../numeric/descriptive.ts";
import { slopeInColouredNoise } from "../numeric/slopeInColouredNoise.ts";
import { lowerBound } from "../numeric/sortedColumns.ts";

/** Hover figures of one axis in a hold window, metres and seconds. */
export interface HoverAxis {
  /** mean distance from the setpoint */
  readonly bias: number;
  /** n - 1 */
  readonly sd: number;
  /** metres per second; null where the window is too short for an interval that covers */
  readonly slope: number | null;
  readonly slope_se: number | null;
  readonly slope_ci: readonly [number, number] | null;
  /** mean of the last second minus mean of the first */
  readonly end_minus_start: number;
  /** sd of what is slower, and faster, than the band split */
  readonly sd_low: number;
  readonly sd_high: number;
}

/**
 * Hover drift of one axis: bias from the setpoint, spread, slope with an interval that allows for the slowness of a
 * hovering vehicle's wander, and how far it got from beginning to end.
 *
 * The slope is an ordinary least-squares line through means over `meanSeconds`; its interval comes from an
 * autoregressive model of those means (see slopeInColouredNoise).
 *
 * @param t      n instants within the hold window, seconds, increasing; gaps allowed
 * @param error  n errors, metres, no NaN
 * @param window start and end of the hold window, seconds
 * @param options.bandSplit  Hz: a moving mean over 1 / bandSplit seconds is the low band
 * @returns null for fewer than ten samples
 */
export function hoverDrift(
  t: Float64Array,
  error: Float64Array,
  window: readonly [number, number],
  options: { meanSeconds: number; order: number; bandSplit: number },
): HoverAxis | null {
  const n = t.length;
  if (n < 10) return null;
  const { bias, sd } = meanAndDeviation(error);
  const means = intervalMeans(t, error, window, options.meanSeconds);
  const slope = slopeInColouredNoise(means.t, means.values, options.meanSeconds, options.order);
  const low = movingMean(t, error, 1 / options.bandSplit);
  const first = meanWithin(t, error, window[0], window[0] + 1);
  const last = meanWithin(t, error, window[1] - 1, window[1]);
  return {
    bias,
    sd,
    slope: slope?.slope ?? null,
    slope_se: slope?.standardError ?? null,
    slope_ci: slope?.interval ?? null,
    end_minus_start: last - first,
    sd_low: meanAndDeviation(low).sd,
    sd_high: meanAndDeviation(turnedHigh(low, error)).sd,
  };
}

/** Radii that hold half and 95 % of the horizontal positions, type 7, about their mean and about the setpoint, metres. */
export function hoverRadii(
  x: Float64Array,
  y: Float64Array,
): { about_mean: { r50: number; r95: number }; about_setpoint: { r50: number; r95: number } } | null {
  if (x.length < 10) return null;
  const mx = meanAndDeviation(x).bias;
  const my = meanAndDeviation(y).bias;
  const radii = (cx: number, cy: number): { r50: number; r95: number } => {
    const r = new Float64Array(x.length);
    for (let i = 0; i < r.length; i++) {
      const dx = x[i]! - cx;
      const dy = y[i]! - cy;
      r[i] = Math.sqrt(dx * dx + dy * dy);
    }
    return { r50: quantileReordering(r, 0.5), r95: quantileReordering(r, 0.95) };
  };
  return { about_mean: radii(mx, my), about_setpoint: radii(0, 0) };
}

/** What is faster than the low band: the values less their moving mean, in whose place it is put. */
function turnedHigh(low: Float64Array, values: Float64Array): Float64Array {
  for (let i = 0; i < low.length; i++) low[i] = values[i]! - low[i]!;
  return low;
}

function meanAndDeviation(values: Float64Array): { bias: number; sd: number } {
  const bias = plainSum(values) / values.length;
  return { bias, sd: Math.sqrt(plainSumOfSquares(values, bias) / (values.length - 1)) };
}

/** Means over equal intervals from the window's start; intervals less than half full are left out, not filled. */
export function intervalMeans(
  t: Float64Array,
  values: Float64Array,
  window: readonly [number, number],
  length: number,
): { t: Float64Array; values: Float64Array } {
  const count = Math.floor((window[1] - window[0]) / length + 1e-9);
  const sums = new Float64Array(count);
  const sizes = new Float64Array(count);
  addToBins(t, values, window[0], length, sums, sizes);
  const typical = Float64Array.from(sizes).sort()[count >> 1] ?? 0;
  const kept: number[] = [];
  for (let bin = 0; bin < count; bin++) if (sizes[bin]! > 0 && sizes[bin]! >= 0.5 * typical) kept.push(bin);
  return {
    t: Float64Array.from(kept, (bin) => window[0] + (bin + 0.5) * length),
    values: Float64Array.from(kept, (bin) => sums[bin]! / sizes[bin]!),
  };
}

function addToBins(
  t: Float64Array,
  values: Float64Array,
  start: number,
  length: number,
  sums: Float64Array,
  sizes: Float64Array,
): void {
  for (let i = 0; i < t.length; i++) {
    const bin = Math.floor((t[i]! - start) / length);
    if (bin < 0 || bin >= sums.length) continue;
    sums[bin]! += values[i]!;
    sizes[bin]! += 1;
  }
}

function meanWithin(t: Float64Array, values: Float64Array, from: number, to: number): number {
  const first = lowerBound(t, from);
  const end = lowerBound(t, to);
  return end === first ? Number.NaN : plainSum(values, first, end) / (end - first);
}

/** Centred moving mean over `span` seconds; at the ends over what there is. */
function movingMean(t: Float64Array, values: Float64Array, span: number): Float64Array {
  const out = new Float64Array(t.length);
  let from = 0;
  let to = 0;
  let sum = 0;
  for (let i = 0; i < t.length; i++) {
    const late = t[i]! + span / 2;
    const early = t[i]! - span / 2;
    while (to < t.length && t[to]! <= late) sum += values[to++]!;
    while (t[from]! < early) sum -= values[from++]!;
    out[i] = sum / (to - from);
  }
  return out;
}
