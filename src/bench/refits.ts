import { runValues } from "../comparison/cellRuns.ts";
import { criticalValue } from "../comparison/decideVerdict.ts";
import { estimateDifference } from "../comparison/estimateDifference.ts";
import { groupSums } from "../comparison/permutationSums.ts";
import { ratioInterval } from "../comparison/ratioInterval.ts";
import { mean, sampleStandardDeviation } from "../numeric/descriptive.ts";
import { fitLine } from "../numeric/leastSquares.ts";
import { studentTCdf } from "../numeric/studentT.ts";

export type Interval = readonly [number, number];

/** A number of a configuration with its interval over refits. */
export interface OverRefits {
  readonly value: number;
  /** null with one refit, or without spread */
  readonly ci95: Interval | null;
  readonly df: number;
}

/**
 * Mean over refits with Student's interval. The refit is the unit of the bench: taking the arm off and putting it back changes
 * what readings of one mounting share, so readings and cycles are no replicates.
 */
export function overRefits(values: readonly number[], level: number): OverRefits | null {
  if (values.length === 0) return null;
  const column = Float64Array.from(values);
  const value = mean(column);
  const df = values.length - 1;
  if (df < 1) return { value, ci95: null, df };
  const half = (criticalValue((1 - level) / 2, df) * sampleStandardDeviation(column)) / Math.sqrt(values.length);
  return { value, ci95: half > 0 ? [value - half, value + half] : null, df };
}

/** Candidate over baseline. */
export interface RatioOverRefits {
  readonly ratio: number | null;
  /** null where unbounded: the baseline is not distinguished from 0 */
  readonly ci95: Interval | null;
  /** two-sided, of no difference */
  readonly p: number | null;
  readonly refits: number;
  readonly method: "paired" | "welch";
}

/** One number of a configuration in one refit. */
export interface RefitValue {
  readonly refit: string;
  readonly value: number;
}

/**
 * Ratio of candidate to baseline, paired over the refits that hold both (Fieller's theorem with their covariance); Welch only
 * where no refit holds both.
 *
 *   all rho with (mean(c) - rho mean(b))^2 <= t^2(n - 1) (s_cc - 2 rho s_bc + rho^2 s_bb) / n
 *
 * What a refit does to both alike (scale, lever, how the arm sits) cancels in it.
 *
 * @source E. C. Fieller, J. R. Stat. Soc. B 16 (1954) 175-185
 */
export function ratioOverRefits(
  baseline: readonly RefitValue[],
  candidate: readonly RefitValue[],
  level: number,
): RatioOverRefits {
  const own = new Map(candidate.map(({ refit, value }) => [refit, value]));
  const pairs = baseline.flatMap(({ refit, value }) => (own.has(refit) ? [[value, own.get(refit)!] as const] : []));
  if (pairs.length === 0) return unpaired(baseline, candidate, level);
  const n = pairs.length;
  const [b, c] = [0, 1].map((side) => Float64Array.from(pairs, (pair) => pair[side]!)) as [Float64Array, Float64Array];
  const [meanB, meanC] = [mean(b), mean(c)];
  const ratio = meanB === 0 ? null : meanC / meanB;
  if (n < 2) return { ratio, ci95: null, p: null, refits: n, method: "paired" };
  let [bb, bc, cc] = [0, 0, 0];
  for (const [x, y] of pairs) {
    bb += (x - meanB) ** 2 / (n - 1) / n;
    bc += ((x - meanB) * (y - meanC)) / (n - 1) / n;
    cc += (y - meanC) ** 2 / (n - 1) / n;
  }
  const t2 = criticalValue((1 - level) / 2, n - 1) ** 2;
  const a = meanB * meanB - t2 * bb;
  const half = meanB * meanC - t2 * bc;
  const root = half * half - a * (meanC * meanC - t2 * cc);
  const spread = bb - 2 * bc + cc;
  const t = (meanC - meanB) / Math.sqrt(spread);
  return {
    ratio,
    ci95: a > 0 && root > 0 ? [(half - Math.sqrt(root)) / a, (half + Math.sqrt(root)) / a] : null,
    p: spread > 0 ? 2 * studentTCdf(-Math.abs(t), n - 1) : null,
    refits: n,
    method: "paired",
  };
}

function unpaired(baseline: readonly RefitValue[], candidate: readonly RefitValue[], level: number): RatioOverRefits {
  const refits = Math.min(baseline.length, candidate.length);
  const columns = runValues([
    ...baseline.map(({ value }) => ({ value, candidate: false, block: null })),
    ...candidate.map(({ value }) => ({ value, candidate: true, block: null })),
  ]);
  const estimate = refits < 2 ? null : estimateDifference(columns);
  const share = estimate === null ? null : ratioInterval(groupSums(columns), estimate, level);
  if (estimate === null || share === null || share.ratio === null)
    return { ratio: null, ci95: null, p: null, refits, method: "welch" };
  const { difference, standardError, degreesOfFreedom } = estimate;
  return {
    ratio: 1 + share.ratio,
    ci95: share.interval && [1 + share.interval[0], 1 + share.interval[1]],
    p: standardError > 0 ? 2 * studentTCdf(-Math.abs(difference / standardError), degreesOfFreedom) : null,
    refits,
    method: "welch",
  };
}

/** A figure at one cycle rate within one refit. */
export interface AtRate {
  readonly refit: string;
  /** hertz */
  readonly rate: number;
  readonly value: number;
}

/**
 * How a force grows with speed: slope of log value on log rate, one slope per refit, Student's interval over refits, to be held
 * against 2 (inertia). All readings on one line would take rates for replicates.
 *
 * @param readings  amplitude over travel, above 0
 * @param least     fewest rates in a refit
 */
export function growthExponent(readings: readonly AtRate[], least: number, level: number): OverRefits | null {
  return overRefits(
    byRefit(readings, least).map(
      (own) =>
        fitLine(
          Float64Array.from(own, ({ rate }) => Math.log(rate)),
          Float64Array.from(own, ({ value }) => Math.log(value)),
        ).slope,
    ),
    level,
  );
}

/** A moment per travel: what gravity makes of it, and what inertia. */
export interface GravityAndInertia {
  /** N m per metre, that is N */
  readonly gravitational: OverRefits;
  /** kg m */
  readonly inertial: OverRefits;
  /** by refit, for the closure */
  readonly refits: readonly { readonly refit: string; readonly gravitational: number; readonly inertial: number }[];
}

/**
 * Gravity's and inertia's part of a moment: M / S = alpha + beta W^2, a line over W^2 per refit, intervals over refits. A power
 * law for such a moment is the wrong model: 0.5 + 0.05 (2 pi f)^2 0.2 has the slope 0.654 over 0.25 to 2 Hz.
 *
 * @param readings  real part of moment over travel, N
 */
export function gravityAndInertia(readings: readonly AtRate[], least: number, level: number): GravityAndInertia | null {
  const refits = byRefit(readings, least).map((own) => {
    const fit = fitLine(
      Float64Array.from(own, ({ rate }) => (2 * Math.PI * rate) ** 2),
      Float64Array.from(own, ({ value }) => value),
    );
    return { refit: own[0]!.refit, gravitational: fit.intercept, inertial: fit.slope };
  });
  if (refits.length === 0) return null;
  return {
    gravitational: overRefits(
      refits.map(({ gravitational }) => gravitational),
      level,
    )!,
    inertial: overRefits(
      refits.map(({ inertial }) => inertial),
      level,
    )!,
    refits,
  };
}

/** Rates closer than this are one: the same speed, run again. */
const sameRate = 0.05;

/** Readings of each refit; refits with fewer different rates than `least` are left out. */
function byRefit(readings: readonly AtRate[], least: number): AtRate[][] {
  const refits = [...new Set(readings.map(({ refit }) => refit))];
  return refits
    .map((refit) => readings.filter((reading) => reading.refit === refit))
    .filter((own) => {
      const rates = own.map(({ rate }) => Math.log(rate)).sort((a, b) => a - b);
      const distinct = rates.filter((rate, i) => i === 0 || rate - rates[i - 1]! > sameRate).length;
      return distinct >= Math.max(2, least);
    });
}
