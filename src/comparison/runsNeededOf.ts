import type { Cell } from "../contract/cell.ts";
import type { Settings } from "../contract/settings.ts";
import type { CellTest, FamilyMember } from "./judgeFamily.ts";
import { spreadWithin } from "./pairLimit.ts";
import { runsNeeded } from "./runsNeeded.ts";

/**
 * Runs per configuration that a cell would need to show its smallest difference, from the spread its runs have shown:
 * within blocks where the difference is taken within blocks, else within configurations.
 *
 * @returns null where no smallest difference is declared or a configuration has shown no spread
 */
export function runsNeededOf(
  { runs, margin }: FamilyMember,
  { estimate }: CellTest,
  { familySize, settings }: { readonly familySize: number; readonly settings: Settings },
): Cell["runs_needed"] {
  if (margin === null || estimate === null || estimate.standardError === 0) return null;
  const together = { ...runs, block: new Int32Array(runs.block.length), blocks: 1 };
  const [baseline, candidate] = spreadWithin(estimate.method === "blocked" ? runs : together);
  // one run per block and configuration shows no spread of its own: the other configuration's stands for both
  const squares = baseline.squares + candidate.squares;
  const df = baseline.df + candidate.df;
  if (df === 0 || squares === 0) return null;
  const variance = ({ squares: own, df: ownDf }: { squares: number; df: number }): number =>
    ownDf > 0 ? own / ownDf : squares / df;
  const [v0, v1] = [variance(baseline), variance(candidate)];
  const spreadDf =
    baseline.df > 0 && candidate.df > 0 ? (v0 + v1) ** 2 / (v0 ** 2 / baseline.df + v1 ** 2 / candidate.df) : df;
  return runsNeeded({
    smallestDifference: margin,
    sd: [Math.sqrt(v0), Math.sqrt(v1)],
    spreadDf,
    level: settings.family_error / familySize,
    power: settings.power,
    spreadLevel: settings.spread_level,
    leastRuns: settings.least_runs,
  });
}
