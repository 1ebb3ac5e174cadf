import { differencePower } from "../../src/comparison/differencePower.ts";
import type { CellTest, FamilyMember } from "../../src/comparison/judgeFamily.ts";
import { overSpread } from "../../src/comparison/overSpread.ts";
import { spreadWithin } from "../../src/comparison/pairLimit.ts";
import type { CellAnswer } from "../../src/contract/api/cellAnswers.ts";
import type { Cell } from "../../src/contract/cell.ts";
import { defaultSettings as settings } from "../../src/contract/settings.ts";

const mostPoints = 40;
const fewestRuns = 12;
const mostRuns = 400;

/**
 * Power of the cell's test at its smallest difference over the number of runs per configuration, for the spread at the low,
 * middle and high end of its interval: where each curve crosses the power asked for lies the cell's `runs_needed`.
 *
 * @returns null where the cell has no `runs_needed`
 */
export function powerCurve(
  { runs, margin }: FamilyMember,
  { estimate }: CellTest,
  cell: Cell,
  familySize: number,
): CellAnswer["power"] {
  if (cell.runs_needed === null || margin === null || estimate === null) return null;
  const together = { ...runs, block: new Int32Array(runs.block.length), blocks: 1 };
  const [baseline, candidate] = spreadWithin(estimate.method === "blocked" ? runs : together);
  const df = baseline.df + candidate.df;
  const pooled = (baseline.squares + candidate.squares) / df;
  const [v0, v1] = [baseline, candidate].map((side) => (side.df > 0 ? side.squares / side.df : pooled)) as [
    number,
    number,
  ];
  const spreadDf =
    baseline.df > 0 && candidate.df > 0 ? (v0 + v1) ** 2 / (v0 ** 2 / baseline.df + v1 ** 2 / candidate.df) : df;
  const counts = runCounts(cell.runs_needed.high);
  const { low, middle, high } = overSpread({ spreadDf, spreadLevel: settings.spread_level }, (factor) =>
    counts.map((count) =>
      differencePower(margin, {
        runs: count,
        sd: [factor * Math.sqrt(v0), factor * Math.sqrt(v1)],
        level: settings.family_error / familySize,
      }),
    ),
  );
  return { target: settings.power, smallest_difference: margin, runs: counts, low, middle, high };
}

/** Whole numbers from the fewest that carry a verdict to a little beyond the most needed. */
function runCounts(needed: number): number[] {
  const least = settings.least_runs;
  const last = Math.min(mostRuns, Math.max(fewestRuns, Math.ceil(1.2 * needed)));
  const points = Math.min(mostPoints, last - least + 1);
  const counts = Array.from({ length: points }, (_, k) => Math.round(least + ((last - least) * k) / (points - 1)));
  return [...new Set(counts)];
}
