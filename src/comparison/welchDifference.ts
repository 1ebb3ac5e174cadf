import type { DifferenceEstimate } from "./differenceEstimate.ts";
import { type GroupSums, overBlocks, sideCounts } from "./groupSums.ts";

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
