import { CounterpoiseError } from "../foundation/errors.ts";
import { studentTCdf, studentTQuantile } from "../numeric/studentT.ts";
import { blockedDifference } from "./blockedDifference.ts";
import type { RunValues } from "./cellRuns.ts";
import type { DifferenceEstimate } from "./differenceEstimate.ts";
import { type GroupSums, groupSums, overBlocks, sideCounts } from "./permutationSums.ts";

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
