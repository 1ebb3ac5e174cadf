import type { CellTest, FamilyMember } from "./judgeFamily.ts";
import { spreadWithin } from "./pairLimit.ts";

/** The spread between runs on which a plan rests. */
export interface PlannedSpread {
  /** standard deviations of baseline and candidate, unit of the values */
  readonly sd: readonly [number, number];
  /** degrees of freedom of the mean of their squares (Satterthwaite) */
  readonly spreadDf: number;
}

/**
 * The spread that a cell's runs have shown: within blocks where the difference is taken within blocks, else within
 * configurations.
 *
 * @returns null where no run repeats another, or all are alike
 * @source F. E. Satterthwaite, Biometrics Bull. 2 (1946) 110-114
 */
export function plannedSpread(
  { runs }: Pick<FamilyMember, "runs">,
  { estimate }: Pick<CellTest, "estimate">,
): PlannedSpread | null {
  if (estimate === null || estimate.standardError === 0) return null;
  const together = { ...runs, block: new Int32Array(runs.block.length), blocks: 1 };
  const [baseline, candidate] = spreadWithin(estimate.method === "blocked" ? runs : together);
  const squares = baseline.squares + candidate.squares;
  const df = baseline.df + candidate.df;
  if (df === 0 || squares === 0) return null;
  // one run per block shows no spread of its own: the other configuration's stands for both
  const variance = ({ squares: own, df: ownDf }: { squares: number; df: number }): number =>
    ownDf > 0 ? own / ownDf : squares / df;
  const [v0, v1] = [variance(baseline), variance(candidate)];
  return {
    sd: [Math.sqrt(v0), Math.sqrt(v1)],
    spreadDf:
      baseline.df > 0 && candidate.df > 0
        ? 1 / ((v0 / (v0 + v1)) ** 2 / baseline.df + (v1 / (v0 + v1)) ** 2 / candidate.df)
        : df,
  };
}
