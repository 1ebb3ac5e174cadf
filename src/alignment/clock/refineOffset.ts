import type { RateGrid } from "./rateGrid.ts";

/** Offset and skew of one clock against another with their uncertainty. */
export interface RefinedOffset {
  /** that clock minus the reference clock at reference time `at`, seconds */
  readonly offset: number;
  readonly offsetStandardError: number;
  /** growth of the offset per second of the reference clock */
  readonly skew: number;
  readonly skewStandardError: number;
  readonly at: number;
  /** [variance of the offset at `at`, covariance with the skew, variance of the skew] */
  readonly covariance: readonly [number, number, number];
}

/** A refined offset this far from the coarse one has left its peak, seconds. */
const peakWidth = 0.15;

/** Length of a block of residuals taken as independent of the next, seconds: well above the smoothing and the vehicle's own correlation. */
const blockSeconds = 1;

/**
 * Refines an offset below a sample: the offset and skew that minimise the squared difference between the two sights
 * over the whole record, each axis weighted by the inverse of its residual variance.
 *
 * Newton steps on the estimating equation sum r(t) m'(t + offset(t)) (1, t) = 0 with its true derivative, so that the
 * noise in m' neither attenuates the step nor flatters the standard error. The covariance is the sandwich over blocks
 * of a second, each freed of its own influence on the estimate: it needs no model of the noise, only that blocks are
 * independent.
 *
 * @param that       sight on the other clock
 * @param reference  sight on the reference clock
 * @param start      offset, skew and the reference time they refer to, within half a correlation length of the truth
 * @param at         reference time the result refers to, seconds (the run's start)
 * @param onlyAxes   axes to use
 * @param passes     most Newton steps; two tell the standard error near a known offset
 * @returns null where fewer than ten blocks, or no motion, are left
 * @source K.-Y. Liang, S. L. Zeger, Biometrika 73 (1986) 13-22 (sandwich over clusters);
 *   R. M. Bell, D. F. McCaffrey, Surv. Methodol. 28 (2002) 169-181 (its correction by leaving each cluster out)
 */
export function refineOffset(
  that: RateGrid,
  reference: RateGrid,
  start: { offset: number; skew: number; at: number },
  at: number,
  onlyAxes: readonly number[] = [0, 1, 2],
  passes = 12,
): RefinedOffset | null {
  let offset = start.offset + start.skew * (at - start.at);
  let skew = start.skew;
  let weights = onlyAxes.map(() => 1);
  let result: RefinedOffset | null = null;
  for (let iteration = 0; iteration < passes; iteration++) {
    const pass = newtonPass(that, reference, { offset, skew, at }, onlyAxes, weights);
    if (pass === null) return null;
    const limit = 0.05;
    offset += Math.max(-limit, Math.min(limit, pass.stepOffset));
    skew += Math.max(-1e-3, Math.min(1e-3, pass.stepSkew));
    weights = pass.variances.map((variance) => (variance > 0 ? 1 / variance : 0));
    const [v00, , v11] = pass.covariance;
    result = {
      offset,
      skew,
      at,
      offsetStandardError: Math.sqrt(v00),
      skewStandardError: Math.sqrt(v11),
      covariance: pass.covariance,
    };
    // a thousandth of the smallest standard error seen: further steps change nothing
    if (iteration >= 1 && Math.abs(pass.stepOffset) < 2e-7 && Math.abs(pass.stepSkew) < 1e-8) break;
  }
  if (result === null || !Number.isFinite(result.offset) || !Number.isFinite(result.offsetStandardError)) return null;
  const middle = reference.start + 0.5 * reference.known.length * reference.step;
  const moved = result.offset + result.skew * (middle - at) - start.offset - start.skew * (middle - start.at);
  if (Math.abs(moved) > peakWidth) return null;
  return result;
}

interface Pass {
  stepOffset: number;
  stepSkew: number;
  /** of offset at `at` and skew: v00, v01, v11 */
  covariance: [number, number, number];
  variances: readonly number[];
}

/** What each second of the record says of the offset, and what is left of each axis. */
export interface Scored {
  readonly sums: BlockSums;
  /** of each axis' residual */
  readonly variances: readonly number[];
  /** reference time about which the scores of the skew are taken, and length of a block, seconds */
  readonly centre: number;
  readonly blockLength: number;
}

/** Scores and information of the blocks of a record under a guess; null where an axis has nothing in common. */
export function scoreBlocks(
  that: RateGrid,
  reference: RateGrid,
  guess: { offset: number; skew: number; at: number },
  onlyAxes: readonly number[],
  weights: readonly number[],
): Scored | null {
  const n = reference.known.length;
  const h = reference.step;
  const perBlock = Math.round(blockSeconds / h);
  const blockCount = Math.ceil(n / perBlock);
  const sums: BlockSums = {
    score0: new Float64Array(blockCount),
    score1: new Float64Array(blockCount),
    info00: new Float64Array(blockCount),
    info01: new Float64Array(blockCount),
    info11: new Float64Array(blockCount),
    used: new Uint8Array(blockCount),
  };
  // time is centred on the record while solving: offset and skew are then nearly uncorrelated
  const centre = reference.start + 0.5 * n * h;
  const at = reference.start - guess.at;
  const sampling: Sampling = {
    known: reference.known,
    thatKnown: that.known,
    perBlock,
    from: reference.start - centre,
    step: h,
    place: (reference.start + guess.offset + guess.skew * at - that.start) / that.step,
    perSample: (h * (1 + guess.skew)) / that.step,
    thatStep: that.step,
  };
  const variances: number[] = [];
  const residuals = new Float64Array(2);
  for (let a = 0; a < onlyAxes.length; a++) {
    const g = reference.rates[onlyAxes[a]!]!;
    const m = that.rates[onlyAxes[a]!]!;
    residuals.fill(0);
    addResiduals(sampling, g, m, residuals);
    if (residuals[1] === 0) return null;
    const mean = residuals[0]! / residuals[1]!;
    residuals.fill(0);
    addScores(sampling, g, m, mean, weights[a]!, sums, residuals);
    variances.push(residuals[1]! > 0 ? residuals[0]! / residuals[1]! : 0);
  }
  return { sums, variances, centre, blockLength: perBlock * h };
}

function newtonPass(
  that: RateGrid,
  reference: RateGrid,
  guess: { offset: number; skew: number; at: number },
  onlyAxes: readonly number[],
  weights: readonly number[],
): Pass | null {
  const scored = scoreBlocks(that, reference, guess, onlyAxes, weights);
  if (scored === null) return null;
  const { sums, variances, centre } = scored;
  const { score0, score1, info00, info01, info11, used } = sums;
  const blockCount = used.length;
  let blocks = 0;
  let g0 = 0;
  let g1 = 0;
  let h00 = 0;
  let h01 = 0;
  let h11 = 0;
  for (let b = 0; b < blockCount; b++) {
    h00 += info00[b]!;
    h01 += info01[b]!;
    h11 += info11[b]!;
    blocks += used[b]!;
    g0 += score0[b]!;
    g1 += score1[b]!;
  }
  const determinant = h00 * h11 - h01 * h01;
  if (blocks < 10 || !(determinant > 0) || !(h00 > 0)) return null;
  const i00 = h11 / determinant;
  const i01 = -h01 / determinant;
  const i11 = h00 / determinant;
  const dOffset = i00 * g0 + i01 * g1;
  const dSkew = i01 * g0 + i11 * g1;
  let m00 = 0;
  let m01 = 0;
  let m11 = 0;
  for (let b = 0; b < blockCount; b++) {
    // what a block would have scored, had it not helped to choose the offset: (1 - H_b H^-1)^-1 times its score
    const p00 = 1 - (info00[b]! * i00 + info01[b]! * i01);
    const p01 = -(info00[b]! * i01 + info01[b]! * i11);
    const p10 = -(info01[b]! * i00 + info11[b]! * i01);
    const p11 = 1 - (info01[b]! * i01 + info11[b]! * i11);
    const d = p00 * p11 - p01 * p10;
    // a block that carries nearly all there is to know has no leave-one-out score
    const usable = d > 0.05;
    const u0 = usable ? (p11 * score0[b]! - p01 * score1[b]!) / d : score0[b]!;
    const u1 = usable ? (p00 * score1[b]! - p10 * score0[b]!) / d : score1[b]!;
    m00 += u0 * u0;
    m01 += u0 * u1;
    m11 += u1 * u1;
  }
  // blocks carry unlike shares of what there is to know; few of them make the variance itself uncertain, and the estimate
  // then scatters like Student's t: its variance is nu / (nu - 2) times as large
  let shares = 0;
  for (let b = 0; b < blockCount; b++) shares += (info00[b]! / h00) ** 2;
  const nu = Math.max(4, 1 / shares - 2);
  const small = (((blocks - 1) / blocks) * nu) / (nu - 2);
  const sandwich = (p: number, q: number, r: number, s: number): number =>
    small * (p * (m00 * r + m01 * s) + q * (m01 * r + m11 * s));
  const v00 = sandwich(i00, i01, i00, i01);
  const v01 = sandwich(i00, i01, i01, i11);
  const v11 = sandwich(i01, i11, i01, i11);
  const back = guess.at - centre;
  return {
    stepOffset: dOffset + dSkew * back,
    stepSkew: dSkew,
    covariance: [v00 + 2 * back * v01 + back * back * v11, v01 + back * v11, v11],
    variances,
  };
}

/** Where the samples of one grid lie on the other under a guess of offset and skew: `place + i perSample` for sample i. */
interface Sampling {
  readonly known: Uint8Array;
  readonly thatKnown: Uint8Array;
  /** samples in a block */
  readonly perBlock: number;
  /** centred time of sample 0 and the step between samples, seconds */
  readonly from: number;
  readonly step: number;
  /** in points of the other grid */
  readonly place: number;
  readonly perSample: number;
  /** step of the other grid, seconds */
  readonly thatStep: number;
}

/** Per block: the scores of offset and skew, their information, and whether it holds any sample. */
export interface BlockSums {
  readonly score0: Float64Array;
  readonly score1: Float64Array;
  readonly info00: Float64Array;
  readonly info01: Float64Array;
  readonly info11: Float64Array;
  readonly used: Uint8Array;
}

/** Adds the differences g - m at the nearest points, and how many there are, to `sums`. */
function addResiduals(
  { known, thatKnown, place, perSample }: Sampling,
  g: Float64Array,
  m: Float64Array,
  sums: Float64Array,
): void {
  let sum = 0;
  let count = 0;
  for (let i = 0; i < known.length; i++) {
    if (known[i] === 0) continue;
    const k = Math.round(place + i * perSample);
    if (k < 2 || k + 3 >= m.length || thatKnown[k] === 0) continue;
    sum += g[i]! - m[k]!;
    count++;
  }
  sums[0]! += sum;
  sums[1]! += count;
}

/**
 * Adds one axis to the scores and information of each block, and its squared residuals and their number to `squares`. A loop
 * with nothing behind it and its sums in locals: it runs a hundred times over, and is to stay compiled.
 */
function addScores(
  { known, thatKnown, perBlock, from, step, place: first, perSample, thatStep }: Sampling,
  g: Float64Array,
  m: Float64Array,
  mean: number,
  weight: number,
  sums: BlockSums,
  squares: Float64Array,
): void {
  const n = known.length;
  let square = 0;
  let count = 0;
  for (let block = 0; block * perBlock < n; block++) {
    const to = Math.min(n, (block + 1) * perBlock);
    const before = count;
    let s0 = 0;
    let s1 = 0;
    let i00 = 0;
    let i01 = 0;
    let i11 = 0;
    for (let i = block * perBlock; i < to; i++) {
      if (known[i] === 0) continue;
      const place = first + i * perSample;
      const k = Math.floor(place);
      if (k < 2 || k + 3 >= m.length || thatKnown[k] === 0 || thatKnown[k + 1] === 0) continue;
      const f = place - k;
      const y0 = m[k - 1]!;
      const y1 = m[k]!;
      const y2 = m[k + 1]!;
      const y3 = m[k + 2]!;
      // cubic through four points: value, slope and curvature of the same curve
      const c1 = (-2 * y0 - 3 * y1 + 6 * y2 - y3) / 6;
      const c2 = (y0 - 2 * y1 + y2) / 2;
      const c3 = (-y0 + 3 * y1 - 3 * y2 + y3) / 6;
      const value = y1 + f * (c1 + f * (c2 + f * c3));
      const slope = (c1 + f * (2 * c2 + 3 * f * c3)) / thatStep;
      const curvature = (2 * c2 + 6 * f * c3) / (thatStep * thatStep);
      const r = g[i]! - value - mean;
      square += r * r;
      count++;
      const s = from + i * step;
      const u = weight * r * slope;
      s0 += u;
      s1 += u * s;
      const info = weight * (slope * slope - r * curvature);
      i00 += info;
      i01 += info * s;
      i11 += info * s * s;
    }
    sums.score0[block]! += s0;
    sums.score1[block]! += s1;
    sums.info00[block]! += i00;
    sums.info01[block]! += i01;
    sums.info11[block]! += i11;
    if (count > before) sums.used[block] = 1;
  }
  squares[0]! += square;
  squares[1]! += count;
}
