import type { Cell } from "../contract/cell.ts";
import type { Settings } from "../contract/settings.ts";
import type { CellTest, FamilyMember } from "./judgeFamily.ts";
import { plannedSpread } from "./plannedSpread.ts";
import { runsNeeded } from "./runsNeeded.ts";

/**
 * Runs per configuration that a cell would need to show its smallest difference, from the spread its runs have shown.
 *
 * @returns null where no smallest difference is declared or the runs have shown no spread
 */
export function runsNeededOf(
  member: FamilyMember,
  test: CellTest,
  { familySize, settings }: { readonly familySize: number; readonly settings: Settings },
): Cell["runs_needed"] {
  const spread = plannedSpread(member, test);
  if (member.margin === null || spread === null) return null;
  return runsNeeded({
    ...spread,
    smallestDifference: member.margin,
    level: settings.family_error / familySize,
    power: settings.power,
    spreadLevel: settings.spread_level,
    leastRuns: settings.least_runs,
  });
}
