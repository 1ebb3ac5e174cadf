import { brentMinimum } from "./brentMinimum.ts";
import { mean } from "./descriptive.ts";
import { fitLine } from "./leastSquares.ts";
import { autocorrelationOfPartials } from "./partialAutocorrelation.ts";
import { studentTQuantile } from "./studentT.ts";

export interface SlopeEstimate {
  readonly slope: number;
  readonly standardError: number;
  /** two-sided 95 % */
  readonly interval: readonly [number, number];
  readonly degreesOfFreedom: number;
  /** order of the autoregressive noise model */
  readonly order: number;
}

/** Stationarity keeps partial autocorrelations inside the unit circle; closer than this the record is a random walk. */
const largestPartial = 0.9995;
/** Models whose criterion lies within this of the best have substantial support: Burnham and Anderson (2002), sec. 2.6 (from memory). */
const plausibleCriterion = 2;

/**
 * Slope of a line through readings whose noise is correlated in time: ordinary least squares, with the variance that
 * an autoregressive noise model of order <= `highestOrder` gives it.
 *
 * The model is fitted by restricted maximum likelihood, which corrects for the line that was taken out: a plain fit of
 * the residuals' autocorrelation is biased low and its intervals are too short. Short
 * records cannot tell the order, and too low an order is too sure: of the orders that the corrected Akaike criterion
 * cannot separate from the best, the one with the widest interval is used. The interval uses Student's t on n_eff - 2 degrees of freedom, n_eff = n times the ratio of the
 * slope's variance in white noise of the same size to its variance here, at most n.
 *
 * @param times   n instants, equal steps; a missing reading is a missing instant, and parts the record
 * @param values  n readings
 * @param step    the step of the instants
 * @returns null for fewer than 12 readings
 * @source D. A. Harville, J. Am. Stat. Assoc. 72 (1977) 320-338 (restricted likelihood); C. M. Hurvich, C.-L. Tsai,
 *   Biometrika 76 (1989) 297-307 (corrected criterion); J. Durbin, Rev. Int. Stat. Inst. 28 (1960) 233-243 (recursion)
 */
export function slopeInColouredNoise(
  times: Float64Array,
  values: Float64Array,
  step: number,
  highestOrder: number,
): SlopeEstimate | null {
  const n = times.length;
  if (n < 12) return null;
  const line = fitLine(times, values);
  const segments = contiguous(times, step);
  const middle = times.reduce((sum, t) => sum + t, 0) / n;
  const x = times.map((t) => t - middle);
  const scale = line.residualStandardDeviation;
  if (!(scale > 1e-12 * largestSize(values))) {
    return {
      slope: line.slope,
      standardError: 0,
      interval: [line.slope, line.slope],
      degreesOfFreedom: n - 2,
      order: 0,
    };
  }
  // about their mean: a large offset would leave the likelihood's squares no digits
  const level = mean(values);
  const y = values.map((value) => (value - level) / scale);
  const likelihood = restrictedLikelihood(x, y, segments, highestOrder);
  const models: Model[] = [];
  let start = new Float64Array(0);
  for (let order = 0; order <= highestOrder; order++) {
    const partial = order === 0 ? start : climb(likelihood, Float64Array.of(...start, 0), order);
    const value = likelihood(partial);
    const variance = varianceOfSlope(x, step, partial, value.variance * scale * scale);
    models.push({ order, criterion: criterion(value, n, order), ...variance });
    start = Float64Array.from(partial);
  }
  const { order, slopeVariance, sxx, marginal } = widestPlausible(models);
  const effective = Math.min(n, (n * marginal) / (slopeVariance * sxx));
  const degreesOfFreedom = Math.max(1, effective - 2);
  const standardError = Math.sqrt(slopeVariance);
  const half = studentTQuantile(0.975, degreesOfFreedom) * standardError;
  return {
    slope: line.slope,
    standardError,
    interval: [line.slope - half, line.slope + half],
    degreesOfFreedom,
    order,
  };
}

function largestSize(values: Float64Array): number {
  let largest = 0;
  for (let i = 0; i < values.length; i++) largest = Math.max(largest, Math.abs(values[i]!));
  return largest;
}

interface Model {
  readonly order: number;
  readonly criterion: number;
  readonly slopeVariance: number;
  readonly sxx: number;
  readonly marginal: number;
}

/** The model that gives the widest interval among those the record cannot tell from the best. */
function widestPlausible(models: readonly Model[]): Model {
  const least = Math.min(...models.map((model) => model.criterion));
  const plausible = models.filter((model) => model.criterion <= least + plausibleCriterion);
  return plausible.reduce((wide, model) => (model.slopeVariance > wide.slopeVariance ? model : wide));
}

interface Likelihood {
  readonly logLikelihood: number;
  /** innovation variance, restricted estimate */
  readonly variance: number;
}

function criterion({ logLikelihood }: Likelihood, n: number, order: number): number {
  const parameters = order + 1;
  return -2 * logLikelihood + 2 * parameters * (n / Math.max(1, n - parameters - 1));
}

/** Coordinate ascent on the partial autocorrelations; each has one valley, and the likelihood is smooth. */
function climb(likelihood: (partial: Float64Array) => Likelihood, start: Float64Array, order: number): Float64Array {
  const partial = start.slice();
  const trial = start.slice();
  let previous = Number.NEGATIVE_INFINITY;
  for (let sweep = 0; sweep < 4; sweep++) {
    for (let k = order - 1; k >= 0; k--) {
      const wide = sweep === 0 && (k === order - 1 || order === 1);
      const half = wide ? largestPartial : 0.15 / (sweep + 1);
      const from = Math.max(-largestPartial, wide ? -largestPartial : partial[k]! - half);
      const to = Math.min(largestPartial, wide ? largestPartial : partial[k]! + half);
      partial[k] = brentMinimum(
        (value) => {
          trial[k] = value;
          return -likelihood(trial).logLikelihood;
        },
        from,
        to,
        2e-3 * (1 - Math.abs(partial[k]!)) + 1e-4,
      );
      trial[k] = partial[k]!;
    }
    const now = likelihood(partial).logLikelihood;
    if (now - previous < 0.01) break;
    previous = now;
  }
  return partial;
}

/**
 * Restricted Gaussian likelihood of an autoregressive model about a line, innovation variance profiled out, as a
 * function of the partial autocorrelations. Exact from the first sample of each segment on: the first samples are
 * predicted by the lower orders of the recursion. All sums over samples are taken once, so that one evaluation costs
 * nothing that grows with n.
 */
function restrictedLikelihood(
  x: Float64Array,
  y: Float64Array,
  segments: readonly (readonly [number, number])[],
  highestOrder: number,
): (partial: Float64Array) => Likelihood {
  const columns = [new Float64Array(x.length).fill(1), x, y];
  const width = highestOrder + 1;
  // sums of column a, j samples back, times column b, l samples back; pairs in the order 11 1x xx 1y xy yy
  const pairs = [
    [0, 0],
    [0, 1],
    [1, 1],
    [0, 2],
    [1, 2],
    [2, 2],
  ] as const;
  const gram = pairs.map(([a, b]) => {
    const sums = new Float64Array(width * width);
    for (const [from, to] of segments) {
      for (let j = 0; j < width; j++) {
        for (let l = 0; l < width; l++) {
          sums[j * width + l]! += laggedProduct(columns[a]!, columns[b]!, j, l, from + highestOrder, to);
        }
      }
    }
    return sums;
  });
  const starts = segments.flatMap(([from, to]) =>
    Array.from({ length: Math.min(highestOrder, to - from) }, (_, k) => ({ i: from + k, back: k })),
  );
  const filters = Array.from({ length: width }, () => new Float64Array(width));
  const relative = new Float64Array(width);
  const sums = new Float64Array(pairs.length);
  const n = y.length;
  return (partial) => {
    const order = partial.length;
    predictionFilters(partial, filters);
    // variance of the prediction from k samples relative to the innovation variance
    relative[order] = 1;
    for (let k = order - 1; k >= 0; k--) relative[k] = relative[k + 1]! / (1 - partial[k]! * partial[k]!);
    const full = filters[order]!;
    for (let c = 0; c < pairs.length; c++) {
      const table = gram[c]!;
      let sum = 0;
      for (let j = 0; j <= order; j++) {
        let row = 0;
        for (let l = 0; l <= order; l++) row += full[l]! * table[j * width + l]!;
        sum += full[j]! * row;
      }
      sums[c] = sum;
    }
    let logDeterminant = 0;
    for (let s = 0; s < starts.length; s++) {
      const { i, back } = starts[s]!;
      const k = Math.min(order, back);
      const filter = filters[k]!;
      let p1 = 0;
      let px = 0;
      let py = 0;
      for (let j = 0; j <= k; j++) {
        p1 += filter[j]!;
        px += filter[j]! * x[i - j]!;
        py += filter[j]! * y[i - j]!;
      }
      const weight = 1 / relative[k]!;
      sums[0]! += p1 * p1 * weight;
      sums[1]! += p1 * px * weight;
      sums[2]! += px * px * weight;
      sums[3]! += p1 * py * weight;
      sums[4]! += px * py * weight;
      sums[5]! += py * py * weight;
      logDeterminant -= Math.log(weight);
    }
    return profiled(sums, logDeterminant, n);
  };
}

/** The likelihood with the line and the innovation variance at their best, from the sums 11 1x xx 1y xy yy of n innovations. */
function profiled(sums: Float64Array, logDeterminant: number, n: number): Likelihood {
  const s00 = sums[0]!;
  const s01 = sums[1]!;
  const s11 = sums[2]!;
  const r0 = sums[3]!;
  const r1 = sums[4]!;
  const yy = sums[5]!;
  const determinant = s00 * s11 - s01 * s01;
  const fitted = (s11 * r0 * r0 - 2 * s01 * r0 * r1 + s00 * r1 * r1) / determinant;
  const variance = Math.max(1e-300, (yy - fitted) / (n - 2));
  const logLikelihood = -0.5 * ((n - 2) * Math.log(variance) + logDeterminant + Math.log(determinant));
  return { logLikelihood, variance };
}

/** Sum of a, j samples back, times b, l samples back. A loop alone: it is to stay compiled. */
function laggedProduct(a: Float64Array, b: Float64Array, j: number, l: number, from: number, to: number): number {
  let sum = 0;
  for (let i = from; i < to; i++) sum += a[i - j]! * b[i - l]!;
  return sum;
}

/** 1, -phi_1, ..., -phi_k of the best prediction from k samples, k = 0 to the order, by the Durbin-Levinson recursion. */
function predictionFilters(partial: Float64Array, filters: readonly Float64Array[]): void {
  filters[0]![0] = 1;
  for (let k = 1; k <= partial.length; k++) {
    const filter = filters[k]!;
    const shorter = filters[k - 1]!;
    const last = partial[k - 1]!;
    filter[0] = 1;
    for (let j = 1; j < k; j++) filter[j] = shorter[j]! - last * shorter[k - j]!;
    filter[k] = -last;
  }
}

/** Variance of the least-squares slope: weights times autocovariance times weights, at the true lags of the instants. */
function varianceOfSlope(
  x: Float64Array,
  step: number,
  partial: Float64Array,
  innovation: number,
): { slopeVariance: number; sxx: number; marginal: number } {
  const n = x.length;
  const marginal = partial.reduce((variance, value) => variance / (1 - value * value), innovation);
  const lags = Math.round((x[n - 1]! - x[0]!) / step);
  const rho = autocorrelationOfPartials(partial, lags);
  let reach = lags;
  while (reach > 0 && Math.abs(rho[reach]!) < 1e-5) reach--;
  let sxx = 0;
  for (let i = 0; i < n; i++) sxx += x[i]! * x[i]!;
  let sum = sxx;
  for (let i = 0; i < n; i++) sum += 2 * x[i]! * weightedBeyond(x, i, rho, reach, step);
  return { slopeVariance: (marginal * sum) / (sxx * sxx), sxx, marginal };
}

/** Sum of the values beyond the i-th, each weighted by the autocorrelation at its distance, up to a lag of `reach`. */
function weightedBeyond(x: Float64Array, i: number, rho: Float64Array, reach: number, step: number): number {
  let sum = 0;
  for (let j = i + 1; j < x.length; j++) {
    const lag = Math.round((x[j]! - x[i]!) / step);
    if (lag > reach) break;
    sum += x[j]! * rho[lag]!;
  }
  return sum;
}

function contiguous(times: Float64Array, step: number): [number, number][] {
  const segments: [number, number][] = [];
  let from = 0;
  for (let i = 1; i <= times.length; i++) {
    if (i < times.length && times[i]! - times[i - 1]! < 1.5 * step) continue;
    segments.push([from, i]);
    from = i;
  }
  return segments;
}
