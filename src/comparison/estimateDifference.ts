import { blockedDifference } from "./blockedDifference.ts";
import type { DifferenceEstimate } from "./differenceEstimate.ts";
import { type GroupSums, groupSums } from "./groupSums.ts";
import type { RunValues } from "./runValues.ts";
import { welchDifference } from "./welchDifference.ts";

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
