import type { Verdict } from "../contract/cell.ts";
import { decideVerdict, type Steadier, type VerdictLimits } from "./decideVerdict.ts";
import type { DifferenceEstimate } from "./differenceEstimate.ts";
import { differenceP } from "./differenceP.ts";
import { equivalenceP } from "./equivalenceP.ts";
import { estimateOfGroups } from "./estimateDifference.ts";
import { type GroupSums, groupSums, sideCounts, sideCountsWithinBlocks } from "./groupSums.ts";
import { holm } from "./holm.ts";
import type { RunValues } from "./runValues.ts";

/** A member of the family as it is tested. */
export interface FamilyMember {
  readonly runs: RunValues;
  /** the smallest difference that matters; null where none is declared */
  readonly margin: number | null;
  /** which way is steadier; default lower */
  readonly steadier?: Steadier;
}

/** What the tests say of one cell by itself. */
export interface CellTest {
  /** runs of baseline and candidate that enter the difference: within blocks only those of blocks that hold both */
  readonly runs: readonly [number, number];
  readonly estimate: DifferenceEstimate | null;
  readonly p: number | null;
  readonly pEquivalence: number | null;
  /** p as it enters the family: 1 where too few runs, or none with spread, allow a test */
  readonly pEntered: number;
  readonly steadier: Steadier;
}

/** Tests one cell by itself: difference, p, equivalence. */
export function testCell(member: FamilyMember, limits: Pick<VerdictLimits, "leastRuns">): CellTest {
  return testGroups(groupSums(member.runs), member, limits);
}

/**
 * The same from the groups' sums.
 *
 * @param like  an estimate whose method and kind of error are kept
 */
export function testGroups(
  groups: GroupSums,
  { margin, steadier = "lower" }: Pick<FamilyMember, "margin" | "steadier">,
  { leastRuns }: Pick<VerdictLimits, "leastRuns">,
  like: DifferenceEstimate | null = null,
): CellTest {
  const estimate = estimateOfGroups(groups, like);
  const sides = estimate?.method === "blocked" ? sideCountsWithinBlocks(groups) : sideCounts(groups);
  const p = estimate === null ? null : differenceP(estimate);
  return {
    runs: sides,
    estimate,
    p,
    pEquivalence: estimate === null || margin === null ? null : equivalenceP(estimate, margin),
    pEntered: Math.min(...sides) < leastRuns || p === null ? 1 : p,
    steadier,
  };
}

/** The verdict on a tested cell with its p among the family. */
export function verdictOf(test: CellTest, pFamily: number, limits: VerdictLimits): Verdict {
  return decideVerdict(
    {
      runs: test.runs,
      difference: test.estimate?.difference ?? null,
      tested: test.p !== null,
      pFamily,
      pEquivalence: test.pEquivalence,
      steadier: test.steadier,
    },
    limits,
  );
}

/**
 * Tests every member of the family and judges each among all of them (Holm).
 *
 * @returns in the order given
 */
export function judgeFamily(
  family: readonly FamilyMember[],
  limits: VerdictLimits,
): { readonly test: CellTest; readonly pFamily: number; readonly verdict: Verdict }[] {
  const tests = family.map((member) => testCell(member, limits));
  const adjusted = holm(tests.map(({ pEntered }) => pEntered));
  return tests.map((test, i) => ({ test, pFamily: adjusted[i]!, verdict: verdictOf(test, adjusted[i]!, limits) }));
}
