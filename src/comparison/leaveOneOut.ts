import type { Verdict } from "../contract/cell.ts";
import type { VerdictLimits } from "./decideVerdict.ts";
import { estimateOfGroups } from "./estimateDifference.ts";
import { groupSums, groupSumsWithout } from "./groupSums.ts";
import { holmAmong } from "./holm.ts";
import { type CellTest, type FamilyMember, testGroups, verdictOf } from "./judgeFamily.ts";

/** A cell with one run left out. */
export interface WithoutOne {
  /** place of the run in the cell's runs */
  readonly index: number;
  readonly test: CellTest;
  readonly pFamily: number;
  readonly verdict: Verdict;
}

/**
 * Judges a cell once without each of its runs in turn, the other cells of the family kept, and so are the cell's method and
 * kind of standard error: what changes is the run's doing alone.
 *
 * Cost: the square of the number of runs.
 *
 * @param others  p of the family's other cells as they entered, ascending
 */
export function leaveOneOut(member: FamilyMember, others: Float64Array, limits: VerdictLimits): WithoutOne[] {
  const { runs } = member;
  const whole = groupSums(runs);
  const like = estimateOfGroups(whole);
  return Array.from(runs.values, (_, index) => {
    const test = testGroups(groupSumsWithout(whole, runs, index), member, limits, like);
    const pFamily = holmAmong(test.pEntered, others);
    return { index, test, pFamily, verdict: verdictOf(test, pFamily, limits) };
  });
}
