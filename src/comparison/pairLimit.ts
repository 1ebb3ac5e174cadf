import { studentTQuantile } from "../numeric/studentT.ts";
import type { RunValues } from "./cellRuns.ts";
import { groupSums } from "./permutationSums.ts";

export interface PairLimit {
  /** standard deviation between like runs, unit of the values */
  readonly sd: number;
  readonly df: number;
  /** what the difference of two like runs stays below in 95 of 100 pairs */
  readonly limit: number;
}

/**
 * What the difference of a single pair of runs, alike in all but chance, stays below in 95 of 100 pairs:
 *
 *   limit = sqrt(2) t(0.975, df) s_r,   s_r pooled within configuration and block
 *
 * (2.8 s_r as df grows.) A pair that differs by more is worth a look; it is no verdict.
 *
 * @param options.leastDf  fewer degrees of freedom give no limit
 * @param options.level    0.95 above
 * @returns null where the runs do not say how alike like runs are
 * @source ISO 5725-6:1994, 4.1 (repeatability limit), with t in place of the normal quantile
 */
export function pairLimit(
  runs: RunValues,
  { leastDf, level }: { readonly leastDf: number; readonly level: number },
): PairLimit | null {
  const spread = spreadWithin(runs);
  const df = spread[0].df + spread[1].df;
  if (df < leastDf) return null;
  const sd = Math.sqrt((spread[0].squares + spread[1].squares) / df);
  return { sd, df, limit: Math.SQRT2 * studentTQuantile((1 + level) / 2, df) * sd };
}

/** Per configuration: sum of squares about the means of its blocks, and degrees of freedom. */
export function spreadWithin(runs: RunValues): [WithinSpread, WithinSpread] {
  const { count, squares } = groupSums(runs);
  const spread: [WithinSpread, WithinSpread] = [
    { squares: 0, df: 0 },
    { squares: 0, df: 0 },
  ];
  for (let group = 0; group < count.length; group++) {
    const side = spread[(group % 2) as 0 | 1];
    side.squares += squares[group]!;
    side.df += Math.max(0, count[group]! - 1);
  }
  return spread;
}

export interface WithinSpread {
  squares: number;
  df: number;
}
