import { extent, plainSum, plainSumOfSquares, quantileReordering } from "../numeric/descriptive.ts";

/** Figures of one axis of an error in a window, metres. */
export interface ErrorFigures {
  readonly bias: number;
  /** n - 1 */
  readonly sd: number;
  readonly rms: number;
  readonly mean_abs: number;
  /** 95th percentile of |e|, type 7 */
  readonly p95: number;
  readonly max_abs: number;
  /** largest minus smallest; null for the norm */
  readonly range: number | null;
}

/**
 * Tracking error of one axis: what is left between measured and commanded at the same instants.
 *
 * @param error   n samples, metres, no NaN
 * @param equal   samples over which maximum and range are taken: they grow with the length of a window, so runs are
 *   compared over a common length; by default the whole
 * @returns null for fewer than two samples
 */
export function trackingError(error: Float64Array, equal: Float64Array = error): ErrorFigures | null {
  const n = error.length;
  if (n < 2 || equal.length === 0) return null;
  const bias = plainSum(error) / n;
  const sizes = absolutes(error);
  const { low, high } = extent(equal);
  return {
    bias,
    sd: Math.sqrt(plainSumOfSquares(error, bias) / (n - 1)),
    rms: Math.sqrt(plainSumOfSquares(error) / n),
    mean_abs: plainSum(sizes) / n,
    p95: quantileReordering(sizes, 0.95),
    max_abs: Math.max(Math.abs(low), Math.abs(high)),
    range: high - low,
  };
}

function absolutes(values: Float64Array): Float64Array {
  const sizes = new Float64Array(values.length);
  for (let i = 0; i < sizes.length; i++) sizes[i] = Math.abs(values[i]!);
  return sizes;
}

/**
 * Tracking error of the error vector's length: bias is the length of the mean vector, sd and rms the root of the summed
 * squares over the axes; mean absolute, 95th percentile and maximum are those of the length itself.
 */
export function trackingErrorNorm(
  axes: readonly ErrorFigures[],
  lengths: Float64Array,
  equal: Float64Array = lengths,
): ErrorFigures | null {
  const own = trackingError(lengths, equal);
  if (own === null) return null;
  const root = (pick: (figures: ErrorFigures) => number): number =>
    Math.sqrt(axes.reduce((sum, figures) => sum + pick(figures) ** 2, 0));
  return {
    ...own,
    bias: root((figures) => figures.bias),
    sd: root((figures) => figures.sd),
    rms: root((figures) => figures.rms),
    range: null,
  };
}

/** Length of the vectors x, y, z, sample by sample. */
export function vectorLengths(x: Float64Array, y: Float64Array, z: Float64Array): Float64Array {
  const lengths = new Float64Array(x.length);
  // Math.hypot guards against overflow, which metres do not need, and costs ten times as much
  for (let i = 0; i < lengths.length; i++) lengths[i] = Math.sqrt(x[i]! * x[i]! + y[i]! * y[i]! + z[i]! * z[i]!);
  return lengths;
}
