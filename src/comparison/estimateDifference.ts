import { CounterpoiseError } from "../foundation/errors.ts";
import { studentTCdf, studentTQuantile } from "../numeric/studentT.ts";
import type { RunValues } from "./cellRuns.ts";
import { type GroupSums, groupSums, overBlocks, sideCounts } from "./permutationSums.ts";

/** How the standard error of a difference is had: from either configuration's own spread, from one pooled spread, or HC3. */
type ErrorKind = "welch" | "pooled" | "hc3";

/** Candidate minus baseline with its uncertainty. */
export interface DifferenceEstimate {
  readonly method: "welch" | "blocked";
  readonly error: ErrorKind;
  /** the unit of the values; negative = the candidate is smaller */
  readonly difference: number;
  /** 0 where the runs show no spread */
  readonly standardError: number;
  readonly degreesOfFreedom: number;
}

/**
 * Difference between two configurations within blocks: the linear model value = block + configuration, by least squares.
 *
 * With d the configuration (0, 1) less its share of the block, S the sum of d^2, e the residuals and h the leverages
 *
 *   difference = sum(d value) / S,   h = 1/size of block + d^2/S
 *
 * Where every block holds as many of one as of the other: se^2 = sum(e^2)/(n - B - 1)/S on n - B - 1 degrees of freedom.
 * Else the heteroscedasticity-consistent HC3, se^2 = V0 + V1 with V = sum(d^2 e^2/(1 - h)^2)/S^2 over a configuration, on
 * Satterthwaite's (V0 + V1)^2/(V0^2/(n0 - 1) + V1^2/(n1 - 1)), at most n - B - 1: pooling would give 11 % false alarms at
 * 6 v 3 runs with twice the spread among the three, this gives 4 %. It errs to the wide side: 97 to 98 of 100 intervals
 * cover where the spreads are alike (tests/comparison/errorRates.test.ts).
 *
 * A block that holds one configuration says nothing of the difference and is left out (n, B, n0, n1 are without it).
 *
 * @param groups  sums over the runs of each block and configuration, one value per run
 * @param kind    how the standard error is had, whatever the counts; one block that holds both then suffices. A cell with a
 *                run left out keeps the kind of the whole cell: equal but for one is near enough equal, and a change of kind
 *                would pass for the run's doing
 * @returns null where fewer than two blocks hold both configurations
 * @source J. G. MacKinnon, H. White, J. Econometrics 29 (1985) 305-325; J. S. Long, L. H. Ervin, Am. Stat. 54 (2000)
 *         217-224 (HC3 in small samples); F. E. Satterthwaite, Biometrics Bull. 2 (1946) 110-114
 */
export function blockedDifference(groups: GroupSums, kind?: ErrorKind): DifferenceEstimate | null {
  const blocks = fullBlocks(groups);
  const both = blocks.length;
  if (both < (kind === undefined ? 2 : 1)) return null;
  const equal = blocks.every(({ count }) => count[0] === count[1]);
  const error = kind ?? (equal ? "pooled" : "hc3");
  let sumOfSquares = 0;
  let weighted = 0;
  const n: [number, number] = [0, 0];
  for (const { count, mean } of blocks) {
    const weight = (count[0] * count[1]) / (count[0] + count[1]);
    sumOfSquares += weight;
    weighted += weight * (mean[1] - mean[0]);
    n[0] += count[0];
    n[1] += count[1];
  }
  const difference = weighted / sumOfSquares;

  let residualSquares = 0;
  const variance: [number, number] = [0, 0];
  for (const { count, mean, squares } of blocks) {
    const size = count[0] + count[1];
    const centre = (count[0] * mean[0] + count[1] * mean[1]) / size;
    for (const side of [0, 1] as const) {
      // d, leverage and what the model leaves of the mean are one and the same for a group's runs
      const d = side - count[1] / size;
      const own = 1 - 1 / size - (d * d) / sumOfSquares;
      const residuals = squares[side] + count[side] * (mean[side] - centre - d * difference) ** 2;
      residualSquares += residuals;
      // a lone run in a single block is fitted exactly, and shows no spread
      variance[side] += own > 1e-12 ? (d / (own * sumOfSquares)) ** 2 * residuals : 0;
    }
  }
  const residualDf = n[0] + n[1] - both - 1;
  if (residualDf < 1) return null;
  if (error === "pooled") {
    const standardError = Math.sqrt(residualSquares / residualDf / sumOfSquares);
    return { method: "blocked", error, difference, standardError, degreesOfFreedom: residualDf };
  }
  if (Math.min(...n) < 2) return null;
  const total = variance[0] + variance[1];
  // from shares of the variance, so that the square of a square neither overflows nor vanishes
  const [share0, share1] = variance.map((own) => own / total) as [number, number];
  const satterthwaite = 1 / (share0 ** 2 / (n[0] - 1) + share1 ** 2 / (n[1] - 1));
  return {
    method: "blocked",
    error,
    difference,
    standardError: Math.sqrt(total),
    degreesOfFreedom: total > 0 ? Math.min(satterthwaite, residualDf) : residualDf,
  };
}

interface FullBlock {
  readonly count: readonly [number, number];
  readonly mean: readonly [number, number];
  readonly squares: readonly [number, number];
}

/** Blocks that hold both configurations. */
export function fullBlocks({ count, mean, squares }: GroupSums): FullBlock[] {
  const blocks: FullBlock[] = [];
  for (let group = 0; group < count.length; group += 2) {
    if (count[group] === 0 || count[group + 1] === 0) continue;
    const pair = (column: Int32Array | Float64Array): [number, number] => [column[group]!, column[group + 1]!];
    blocks.push({ count: pair(count), mean: pair(mean), squares: pair(squares) });
  }
  return blocks;
}

/**
 * Difference of two means whose spreads may differ, with Welch's standard error and Satterthwaite's degrees of freedom.
 *
 *   se^2 = s0^2/n0 + s1^2/n1,   df = se^4 / ( (s0^2/n0)^2/(n0-1) + (s1^2/n1)^2/(n1-1) )
 *
 * @param groups  sums over the runs of each block and configuration, one value per run; blocks are not looked at
 * @returns null where a configuration has fewer than 2 runs
 * @source B. L. Welch, Biometrika 34 (1947) 28-35; F. E. Satterthwaite, Biometrics Bull. 2 (1946) 110-114
 */
export function welchDifference(groups: GroupSums): DifferenceEstimate | null {
  const [n0, n1] = sideCounts(groups);
  if (n0 < 2 || n1 < 2) return null;
  const baseline = overBlocks(groups, 0, n0);
  const candidate = overBlocks(groups, 1, n1);
  const v0 = baseline.squares / (n0 - 1) / n0;
  const v1 = candidate.squares / (n1 - 1) / n1;
  const variance = v0 + v1;
  return {
    method: "welch",
    error: "welch",
    difference: candidate.mean - baseline.mean,
    standardError: Math.sqrt(variance),
    // without any spread there is nothing to weigh: the plain count
    degreesOfFreedom: variance > 0 ? satterthwaite(v0 / variance, n0, n1) : n0 + n1 - 2,
  };
}

/** From the baseline's share of the variance, so that the square of a square neither overflows nor vanishes. */
function satterthwaite(share: number, n0: number, n1: number): number {
  return 1 / (share ** 2 / (n0 - 1) + (1 - share) ** 2 / (n1 - 1));
}

/** Rounding leaves this part of the values; a spread below it is none. */
const rounding = 1e-12;

/**
 * The difference of a cell: within blocks where at least two blocks hold both configurations, else Welch's over all runs
 * (design, section 6, item 2).
 *
 * @returns null where a configuration has fewer than 2 runs; `standardError` 0 where the runs show no spread
 */
export function estimateDifference(runs: RunValues): DifferenceEstimate | null {
  return estimateOfGroups(groupSums(runs));
}

/**
 * The same from the groups' sums.
 *
 * @param like  an estimate whose method and kind of error are kept, for a cell with a run left out
 */
export function estimateOfGroups(groups: GroupSums, like: DifferenceEstimate | null = null): DifferenceEstimate | null {
  const estimate =
    like === null
      ? (blockedDifference(groups) ?? welchDifference(groups))
      : like.error === "welch"
        ? welchDifference(groups)
        : blockedDifference(groups, like.error);
  if (estimate === null) return null;
  let largest = 0;
  for (const mean of groups.mean) largest = Math.max(largest, Math.abs(mean));
  return estimate.standardError > rounding * largest ? estimate : { ...estimate, standardError: 0 };
}

/**
 * Confidence interval of a difference: difference -+ t((1 + level)/2, df) se.
 *
 * @param level  0 to 1, such as 0.95
 * @returns null where the runs show no spread: there is nothing to tell how far the difference may be off
 */
export function differenceInterval(estimate: DifferenceEstimate, level: number): [number, number] | null {
  const { difference, standardError, degreesOfFreedom } = estimate;
  if (standardError === 0) return null;
  const half = studentTQuantile((1 + level) / 2, degreesOfFreedom) * standardError;
  return [difference - half, difference + half];
}

/**
 * Two-sided p of a difference by Student's t: how often chance alone would give one at least as large.
 *
 * @returns null where the runs show no spread
 */
export function differenceP({ difference, standardError, degreesOfFreedom }: DifferenceEstimate): number | null {
  if (standardError === 0) return null;
  return 2 * studentTCdf(-Math.abs(difference) / standardError, degreesOfFreedom);
}

/**
 * Two one-sided tests: p of "the difference is at least as large as the smallest that matters". Below 0.05 the difference
 * is shown not to matter, which is the same as its 90 % interval lying inside +-margin.
 *
 *   p = max( P(T > (difference + margin)/se), P(T < (difference - margin)/se) )
 *
 * It errs in at most 5 of 100 cells *per cell*: that nothing matters on any axis needs every cell.
 *
 * @param margin  the smallest difference that matters, above 0, unit of the difference
 * @returns null where the runs show no spread
 * @throws CounterpoiseError  code `not-a-margin`: the margin is not above 0
 * @source D. J. Schuirmann, J. Pharmacokinet. Biopharm. 15 (1987) 657-680
 */
export function equivalenceP(estimate: DifferenceEstimate, margin: number): number | null {
  const { difference, standardError, degreesOfFreedom } = estimate;
  if (!(margin > 0)) {
    throw new CounterpoiseError("not-a-margin", `equivalenceP requires a margin above 0, found ${margin}`);
  }
  if (standardError === 0) return null;
  const above = studentTCdf(-(difference + margin) / standardError, degreesOfFreedom);
  const below = studentTCdf((difference - margin) / standardError, degreesOfFreedom);
  return Math.max(above, below);
}
