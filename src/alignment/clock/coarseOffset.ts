import type { RateGrid } from "./rateGrid.ts";

/** Agreement of two sights as a function of the offset between their clocks. */
export interface CoarseOffset {
  /** that clock minus the reference clock at reference time `at`, seconds */
  readonly offset: number;
  readonly at: number;
  /** growth of the offset per second, found on the grid of candidates */
  readonly skew: number;
  /** 1 where the two sights are the same, 0 where they have nothing in common */
  readonly agreement: number;
  /** the best rival peak as a share of the first; 0 where there is none */
  readonly secondPeakRatio: number;
  /** log-likelihood by which the best peak beats its best rival; Infinity where there is none */
  readonly logLikelihood: number;
  /** agreement per axis at the best offset */
  readonly axes: readonly [number, number, number];
  /** sum of squares per axis at the best offset, of the reference's rates and of the other's */
  readonly energies: readonly (readonly [number, number])[];
  /** seconds of common record the result rests on */
  readonly overlap: number;
}

interface Sums {
  /** per lag and axis: product, energy of the first, energy of the second */
  readonly product: Float64Array;
  readonly first: Float64Array;
  readonly second: Float64Array;
  readonly pairs: Float64Array;
}

/** Every how many points of the fine grid (10 ms) the coarse search looks. */
const stride = 4;
/** Step of the coarse search, seconds. */
export const coarseStep = 0.04;
/** Longest piece over which a drifting clock may be taken as fixed while correlating, seconds. */
const pieceSeconds = 60;

/**
 * Finds the offset between two clocks to about a grid step from two sights of one motion, over the whole record with
 * its starts and stops: the lag with the smallest mean squared difference, over lags within `search` of `near` and, for
 * records longer than a minute, over clock rates up to 500 ppm.
 *
 * The agreement at a lag is 2 sum(ab) / (sum(aa) + sum(bb)) over the instants both sights know. Cyclic motion repeats
 * its peak every period; the rival peak is compared by the log-likelihood of the residuals (Gaussian, one independent
 * value per correlation time of the smoothing filter and axis), which does not mind how the energies differ.
 *
 * @param that       sight on the other clock
 * @param reference  sight on the reference clock
 * @param near       expected offset, seconds; lags from near - search to near + search are tried
 * @param smoothing  sd of the smoothing Gaussian, seconds
 * @returns null where no lag leaves `overlap` seconds in common
 * @source the normalised squared-difference form of the cross-correlation method; C. H. Knapp, G. C. Carter,
 *   IEEE Trans. ASSP 24 (1976) 320-327, for the estimator that it approximates
 */
export function coarseOffset(
  that: RateGrid,
  reference: RateGrid,
  options: { near: number; search: number; overlap: number; smoothing: number },
): CoarseOffset | null {
  const step = that.step * stride;
  const lagCount = 2 * Math.ceil(options.search / step) + 1;
  const firstLag = options.near - ((lagCount - 1) / 2) * step;
  const a = standardised(reference);
  const b = standardised(that);
  const size = reference.known.length;
  const perPiece = Math.max(1, Math.round(pieceSeconds / reference.step));
  const pieceCount = Math.max(1, Math.round(size / perPiece));
  const pieces = Array.from({ length: pieceCount }, (_, p) => {
    const from = Math.floor((p * size) / pieceCount);
    const to = Math.floor(((p + 1) * size) / pieceCount);
    return {
      middle: reference.start + 0.5 * (from + to) * reference.step,
      sums: correlate(reference, that, a, b, { from, to, firstLag, lagCount, step }),
    };
  });
  const at = reference.start + 0.5 * size * reference.step;
  const skews = candidateSkews(size * reference.step, step, pieceCount);
  let best: { skew: number; sums: Sums; lag: number; agreement: number } | null = null;
  for (const skew of skews) {
    const sums = combine(pieces, at, skew, step, lagCount);
    const curve = agreementCurve(sums, lagCount, options.overlap / step);
    const lag = indexOfLargest(curve);
    if (lag >= 0 && (best === null || curve[lag]! > best.agreement)) {
      best = { skew, sums, lag, agreement: curve[lag]! };
    }
  }
  if (best === null) return null;
  const curve = agreementCurve(best.sums, lagCount, options.overlap / step);
  const rival = rivalPeak(curve, best.lag);
  return {
    offset: firstLag + best.lag * step,
    at,
    skew: best.skew,
    agreement: best.agreement,
    secondPeakRatio: rival < 0 ? 0 : Math.max(0, curve[rival]! / best.agreement),
    logLikelihood:
      rival < 0 ? Number.POSITIVE_INFINITY : logLikelihoodAhead(best.sums, best.lag, rival, step, options.smoothing),
    axes: [0, 1, 2].map((axis) => axisAgreement(best.sums, best.lag, axis)) as [number, number, number],
    energies: [0, 1, 2].map((axis) => {
      const k = axis * lagCount + best.lag;
      return [best.sums.first[k]!, best.sums.second[k]!] as const;
    }),
    overlap: best.sums.pairs[best.lag]! * step,
  };
}

/** Rates less their mean over the known points; unknown points 0. */
export function standardised(grid: RateGrid): Float64Array[] {
  return grid.rates.map((rate) => {
    let sum = 0;
    let count = 0;
    for (let i = 0; i < rate.length; i++) {
      if (grid.known[i] === 1) {
        sum += rate[i]!;
        count++;
      }
    }
    const mean = count > 0 ? sum / count : 0;
    return rate.map((value, i) => (grid.known[i] === 1 ? value - mean : 0));
  });
}

function correlate(
  reference: RateGrid,
  that: RateGrid,
  a: readonly Float64Array[],
  b: readonly Float64Array[],
  range: { from: number; to: number; firstLag: number; lagCount: number; step: number },
): Sums {
  const { from, to, firstLag, lagCount } = range;
  const sums: Sums = {
    product: new Float64Array(3 * lagCount),
    first: new Float64Array(3 * lagCount),
    second: new Float64Array(3 * lagCount),
    pairs: new Float64Array(lagCount),
  };
  const shift = Math.round((reference.start + firstLag - that.start) / that.step);
  for (let lag = 0; lag < lagCount; lag++) {
    const apart = shift + lag * stride;
    // instants at which the other sight has a point
    const first = from + Math.max(0, stride * Math.ceil((-apart - from) / stride));
    const last = Math.min(to, that.known.length - apart);
    for (let axis = 0; axis < 3; axis++) {
      addPairs(reference.known, that.known, a[axis]!, b[axis]!, { first, last, apart }, sums, axis * lagCount + lag);
    }
  }
  return sums;
}

/**
 * Adds the products of the instants from `first` to before `last` with those `apart` later to the sums at index k, and their
 * number to `pairs` where k is a lag of the first axis. A loop alone with its sums in locals: it is to stay compiled.
 */
function addPairs(
  known: Uint8Array,
  thatKnown: Uint8Array,
  a: Float64Array,
  b: Float64Array,
  { first, last, apart }: { first: number; last: number; apart: number },
  sums: Sums,
  k: number,
): void {
  let pairs = 0;
  let product = 0;
  let ofA = 0;
  let ofB = 0;
  for (let i = first; i < last; i += stride) {
    if (known[i] === 0 || thatKnown[i + apart] === 0) continue;
    const u = a[i]!;
    const v = b[i + apart]!;
    pairs++;
    product += u * v;
    ofA += u * u;
    ofB += v * v;
  }
  sums.product[k] = product;
  sums.first[k] = ofA;
  sums.second[k] = ofB;
  if (k < sums.pairs.length) sums.pairs[k] = pairs;
}

function candidateSkews(duration: number, step: number, pieceCount: number): number[] {
  if (pieceCount < 2) return [0];
  const resolution = step / duration;
  const steps = Math.min(200, Math.ceil(5e-4 / resolution));
  return Array.from({ length: 2 * steps + 1 }, (_, k) => (k - steps) * resolution);
}

function combine(
  pieces: readonly { middle: number; sums: Sums }[],
  at: number,
  skew: number,
  step: number,
  lagCount: number,
): Sums {
  if (pieces.length === 1) return pieces[0]!.sums;
  const total: Sums = {
    product: new Float64Array(3 * lagCount),
    first: new Float64Array(3 * lagCount),
    second: new Float64Array(3 * lagCount),
    pairs: new Float64Array(lagCount),
  };
  for (const piece of pieces) {
    const shift = Math.round((skew * (piece.middle - at)) / step);
    for (let lag = Math.max(0, -shift); lag < Math.min(lagCount, lagCount - shift); lag++) {
      total.pairs[lag]! += piece.sums.pairs[lag + shift]!;
      for (let axis = 0; axis < 3; axis++) {
        const k = axis * lagCount + lag;
        total.product[k]! += piece.sums.product[k + shift]!;
        total.first[k]! += piece.sums.first[k + shift]!;
        total.second[k]! += piece.sums.second[k + shift]!;
      }
    }
  }
  return total;
}

/** Agreement per lag; NaN where fewer than `fewest` pairs, or than a third of the most, are in common. */
function agreementCurve(sums: Sums, lagCount: number, fewest: number): Float64Array {
  let most = 0;
  for (let lag = 0; lag < lagCount; lag++) most = Math.max(most, sums.pairs[lag]!);
  const curve = new Float64Array(lagCount).fill(Number.NaN);
  for (let lag = 0; lag < lagCount; lag++) {
    if (sums.pairs[lag]! < Math.max(fewest, most / 3)) continue;
    let product = 0;
    let energy = 0;
    for (let axis = 0; axis < 3; axis++) {
      const k = axis * lagCount + lag;
      product += sums.product[k]!;
      energy += sums.first[k]! + sums.second[k]!;
    }
    curve[lag] = energy > 0 ? (2 * product) / energy : Number.NaN;
  }
  return curve;
}

function axisAgreement(sums: Sums, lag: number, axis: number): number {
  const k = axis * sums.pairs.length + lag;
  const energy = sums.first[k]! + sums.second[k]!;
  return energy > 0 ? (2 * sums.product[k]!) / energy : 0;
}

function indexOfLargest(curve: Float64Array): number {
  let best = -1;
  for (let i = 0; i < curve.length; i++) if (curve[i]! > (best < 0 ? Number.NEGATIVE_INFINITY : curve[best]!)) best = i;
  return best;
}

/** Index of the highest local maximum outside the main lobe (which ends at its first minimum on either side); -1 where none. */
function rivalPeak(curve: Float64Array, peak: number): number {
  let left = peak;
  while (left > 0 && curve[left - 1]! < curve[left]!) left--;
  let right = peak;
  while (right < curve.length - 1 && curve[right + 1]! < curve[right]!) right++;
  let rival = -1;
  for (let i = 0; i < curve.length; i++) {
    if (i >= left && i <= right) continue;
    const value = curve[i]!;
    if (!(value > 0)) continue;
    const localPeak = !(curve[i - 1]! > value) && !(curve[i + 1]! > value);
    if (localPeak && (rival < 0 || value > curve[rival]!)) rival = i;
  }
  return rival;
}

function logLikelihoodAhead(sums: Sums, best: number, rival: number, step: number, smoothing: number): number {
  const lagCount = sums.pairs.length;
  // integral of the autocorrelation exp(-t^2 / (4 s^2)) of the smoothing filter: one independent value per 2 s sqrt(pi)
  const correlationTime = 2 * smoothing * Math.sqrt(Math.PI);
  let total = 0;
  for (let axis = 0; axis < 3; axis++) {
    const residual = (lag: number): number => {
      const k = axis * lagCount + lag;
      return (sums.first[k]! + sums.second[k]! - 2 * sums.product[k]!) / sums.pairs[lag]!;
    };
    const here = residual(best);
    const there = residual(rival);
    if (!(here > 0) || !(there > 0)) continue;
    const independent = (Math.min(sums.pairs[best]!, sums.pairs[rival]!) * step) / correlationTime;
    total += 0.5 * independent * Math.log(there / here);
  }
  return total;
}
