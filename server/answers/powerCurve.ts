import { overSpread } from "../../src/comparison/decideVerdict.ts";
import type { CellTest, FamilyMember } from "../../src/comparison/judgeFamily.ts";
import { plannedSpread } from "../../src/comparison/plannedError.ts";
import { welchPower } from "../../src/comparison/power.ts";
import type { CellAnswer } from "../../src/contract/api/cellAnswers.ts";
import type { Cell } from "../../src/contract/cell.ts";
import type { CampaignEvaluation } from "../../src/contract/evaluation.ts";
import { defaultSettings as settings } from "../../src/contract/settings.ts";
import type { Axis, Subject } from "../../src/foundation/tracks.ts";

const points = 60;
const fewestRuns = 12;
const mostRuns = 400;

/**
 * Power of the cell's test at its smallest difference over the number of runs per configuration, for the spread at the low,
 * middle and high end of its interval: where each curve crosses the power asked for lies the cell's `runs_needed`.
 *
 * @returns null where the cell has no `runs_needed`
 */
export function powerCurve(member: FamilyMember, test: CellTest, cell: Cell, familySize: number): CellAnswer["power"] {
  const spread = plannedSpread(member, test);
  const { margin } = member;
  if (cell.runs_needed === null || margin === null || spread === null) return null;
  const counts = runCounts(cell.runs_needed.high);
  const { low, middle, high } = overSpread(
    { spreadDf: spread.spreadDf, spreadLevel: settings.spread_level },
    (factor) =>
      counts.map((count) =>
        welchPower(margin, {
          runs: count,
          sd: [factor * spread.sd[0], factor * spread.sd[1]],
          level: settings.family_error / familySize,
        }),
      ),
  );
  return { target: settings.power, smallest_difference: margin, runs: counts, low, middle, high };
}

/**
 * Whole numbers from the fewest that carry a verdict to a little beyond the most needed, each a like step in ratio: the low
 * end of the spread needs few runs, the high end may need hundreds.
 */
function runCounts(needed: number): number[] {
  const least = settings.least_runs;
  const last = Math.min(mostRuns, Math.max(fewestRuns, Math.ceil(1.2 * needed)));
  const counts = Array.from({ length: points }, (_, k) => Math.round(least * (last / least) ** (k / (points - 1))));
  return [...new Set(counts)];
}

/** sd of the measurement noise of a subject on an axis, metres; of the arm both bodies' together. null where unknown. */
export function noiseOf({ noise }: Pick<CampaignEvaluation, "noise">, subject: Subject, axis: Axis): number | null {
  const vehicle = noise?.vehicle?.[axis] ?? null;
  const effector = noise?.effector?.[axis] ?? null;
  if (subject === "vehicle") return vehicle;
  if (subject === "effector") return effector;
  return vehicle === null || effector === null ? null : Math.hypot(vehicle, effector);
}
