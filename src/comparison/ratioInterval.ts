import { criticalValue } from "./decideVerdict.ts";
import { type DifferenceEstimate, fullBlocks } from "./estimateDifference.ts";
import { type GroupSums, overBlocks, sideCounts } from "./permutationSums.ts";

/** A difference as a share of the baseline, with the shares that the runs do not speak against. */
export interface DifferenceRatio {
  /** difference / baseline mean, both from the runs that the difference is taken from; null where that mean is 0 */
  readonly ratio: number | null;
  /** null where the runs show no spread, or the baseline is not distinguished from 0: then no share is known */
  readonly interval: readonly [number, number] | null;
}

/** Variance of d - rho b by the side that it comes from; of the candidate's runs nothing enters b. */
interface RatioModel {
  readonly difference: number;
  readonly baseline: number;
  readonly ofBaseline: { readonly dd: number; readonly db: number; readonly bb: number };
  readonly ofCandidate: number;
  readonly degrees: (ofBaseline: number, ofCandidate: number) => number;
}

/**
 * Interval of a difference over its baseline's mean by Fieller's method, on the estimate of the difference itself: all rho with
 *
 *   (d - rho b)^2 <= t^2(nu(rho)) var(d - rho b)
 *
 * d and b are sums over the same runs, so their covariance is known: Welch, and HC3 within blocks, with Satterthwaite's degrees
 * of freedom at rho; least squares within blocks with its own. At rho = 0 this is the interval of the difference: it leaves
 * out 0 exactly where that one does. A candidate's ratio to the baseline is 1 + rho.
 *
 * @param groups    of the runs that the estimate is from
 * @param level     of the interval, 0 to 1
 * @source E. C. Fieller, J. R. Stat. Soc. B 16 (1954) 175-185
 */
export function ratioInterval(groups: GroupSums, estimate: DifferenceEstimate, level: number): DifferenceRatio {
  const model = estimate.method === "welch" ? welchModel(groups, estimate) : blockedModel(groups, estimate);
  const { difference: d, baseline: b, ofBaseline, ofCandidate } = model;
  if (b === 0) return { ratio: null, interval: null };
  const ratio = d / b;
  if (estimate.standardError === 0) return { ratio, interval: null };
  const baselineAt = (rho: number): number => ofBaseline.dd - 2 * rho * ofBaseline.db + rho * rho * ofBaseline.bb;
  const outside = (1 - level) / 2;
  const far = criticalValue(outside, model.degrees(1, 0)) ** 2;
  if (!(b * b > far * ofBaseline.bb)) return { ratio, interval: null };
  const end = (side: -1 | 1): number | null => {
    let rho = ratio;
    // the quadratic's root moves little with its quantile: a few rounds settle both
    for (let round = 0; round < 60; round++) {
      const t2 = criticalValue(outside, model.degrees(baselineAt(rho), ofCandidate)) ** 2;
      const a = b * b - t2 * ofBaseline.bb;
      const half = d * b - t2 * ofBaseline.db;
      const root = half * half - a * (d * d - t2 * (ofBaseline.dd + ofCandidate));
      if (!(a > 0 && root >= 0)) return null;
      // with b below 0 nothing turns about: a is positive either way
      const next = (half + side * Math.sqrt(root)) / a;
      if (Math.abs(next - rho) <= 1e-10 * (1 + Math.abs(rho))) return next;
      rho = next;
    }
    return rho;
  };
  const [low, high] = [end(-1), end(1)];
  return { ratio, interval: low === null || high === null ? null : [low, high] };
}

function welchModel(groups: GroupSums, { difference }: DifferenceEstimate): RatioModel {
  const [n0, n1] = sideCounts(groups);
  const baseline = overBlocks(groups, 0, n0);
  const v0 = baseline.squares / (n0 - 1) / n0;
  return {
    difference,
    baseline: baseline.mean,
    ofBaseline: { dd: v0, db: -v0, bb: v0 },
    ofCandidate: overBlocks(groups, 1, n1).squares / (n1 - 1) / n1,
    degrees: (v, w) => satterthwaite(v, w, n0, n1),
  };
}

function blockedModel(groups: GroupSums, { difference, error, standardError }: DifferenceEstimate): RatioModel {
  const blocks = fullBlocks(groups);
  const [n0, n1] = [0, 1].map((side) => blocks.reduce((sum, { count }) => sum + count[side as 0 | 1], 0)) as [
    number,
    number,
  ];
  const mean = blocks.reduce((sum, block) => sum + (block.count[0] * block.mean[0]) / n0, 0);
  const sumOfSquares = blocks.reduce((sum, { count: [a, b] }) => sum + (a * b) / (a + b), 0);
  const residual = n0 + n1 - blocks.length - 1;
  if (error === "pooled") {
    const variance = standardError ** 2 * sumOfSquares;
    const share = variance / n0;
    return {
      difference,
      baseline: mean,
      ofBaseline: { dd: standardError ** 2, db: -share, bb: share },
      ofCandidate: 0,
      degrees: () => residual,
    };
  }
  let [dd, db, bb, candidate] = [0, 0, 0, 0];
  for (const { count, mean: means, squares } of blocks) {
    const size = count[0] + count[1];
    const centre = (count[0] * means[0] + count[1] * means[1]) / size;
    for (const side of [0, 1] as const) {
      const d = side - count[1] / size;
      const own = 1 - 1 / size - (d * d) / sumOfSquares;
      if (!(own > 1e-12)) continue;
      const residuals = (squares[side] + count[side] * (means[side] - centre - d * difference) ** 2) / own ** 2;
      const weight = d / sumOfSquares;
      if (side === 1) candidate += weight ** 2 * residuals;
      else {
        dd += weight ** 2 * residuals;
        db += (weight / n0) * residuals;
        bb += residuals / n0 ** 2;
      }
    }
  }
  return {
    difference,
    baseline: mean,
    ofBaseline: { dd, db, bb },
    ofCandidate: candidate,
    degrees: (v, w) => Math.min(satterthwaite(v, w, n0, n1), residual),
  };
}

/** From shares of the variance, so that the square of a square neither overflows nor vanishes. */
function satterthwaite(v: number, w: number, n0: number, n1: number): number {
  const whole = v + w;
  if (!(whole > 0)) return n0 + n1 - 2;
  const [a, b] = [v / whole, w / whole];
  return 1 / ((a > 0 ? a ** 2 / (n0 - 1) : 0) + (b > 0 ? b ** 2 / (n1 - 1) : 0));
}
