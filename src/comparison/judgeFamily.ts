import { isUntested, type Verdict } from "../catalogue/verdicts.ts";
import { NotFiniteError } from "../foundation/errors.ts";
import type { RunValues } from "./cellRuns.ts";
import { decideVerdict, type Steadier, type VerdictLimits } from "./decideVerdict.ts";
import { type DifferenceEstimate, differenceP, equivalenceP, estimateOfGroups } from "./estimateDifference.ts";
import type { MemberLook } from "./looks/memberLook.ts";
import { type GroupSums, groupSums, sideCounts, sideCountsWithinBlocks } from "./permutationSums.ts";

/** A member of the family as it is tested. */
export interface FamilyMember {
  readonly runs: RunValues;
  /** the smallest difference that matters; null where none is declared */
  readonly margin: number | null;
  /** which way is steadier; default lower */
  readonly steadier?: Steadier;
  /** what this look at it is worth; absent where looks are not paid for */
  readonly look?: MemberLook;
}

/** What the tests say of one cell by itself. */
export interface CellTest {
  /** runs of baseline and candidate that enter the difference: within blocks only those of blocks that hold both */
  readonly runs: readonly [number, number];
  readonly estimate: DifferenceEstimate | null;
  readonly p: number | null;
  /** at a look that is paid for, as the looks together allow it */
  readonly pEquivalence: number | null;
  /** p as it enters the family: 1 where too few runs, or none with spread, allow a test; its sequential p at a look that is paid for */
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
  { margin, steadier = "lower", look }: Pick<FamilyMember, "margin" | "steadier" | "look">,
  { leastRuns }: Pick<VerdictLimits, "leastRuns">,
  like: DifferenceEstimate | null = null,
): CellTest {
  const estimate = estimateOfGroups(groups, like);
  const sides = estimate?.method === "blocked" ? sideCountsWithinBlocks(groups) : sideCounts(groups);
  const p = estimate === null ? null : differenceP(estimate);
  const pEquivalence = estimate === null || margin === null ? null : equivalenceP(estimate, margin);
  const pEntered = Math.min(...sides) < leastRuns || p === null ? 1 : p;
  const test = { runs: sides, estimate, p, pEquivalence, pEntered, steadier };
  return look === undefined ? test : paidTest(test, look);
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
  const tests = family.map((member) => withEarlier(testCell(member, limits), member.look));
  const adjusted = holm(tests.map(({ pEntered }) => pEntered));
  return tests.map((test, i) => {
    const pFamily = adjusted[i]!;
    const verdict = verdictOf(test, pFamily, limits);
    return { test, pFamily, verdict: keptVerdict(family[i]!, { test, pFamily, verdict }, limits) };
  });
}

/** The test with the p values that this look makes of its own. */
function paidTest(test: CellTest, { price }: MemberLook): CellTest {
  const { pEquivalence: p, pEntered } = test;
  // either of the two one-sided tests at half of the two-sided level
  const pEquivalence = p === null ? null : p < 0.5 ? 0.5 * price.sequential(2 * p) : p;
  return { ...test, pEquivalence, pEntered: pEntered < 1 ? price.sequential(pEntered) : 1 };
}

/** What the looks before showed enters the family with it. */
function withEarlier(test: CellTest, look: MemberLook | undefined): CellTest {
  const best = look?.best ?? null;
  return best === null || best.p >= test.pEntered ? test : { ...test, pEntered: best.p };
}

/** The verdict with what the looks before showed: a claim made stays made. */
function keptVerdict(
  { look }: Pick<FamilyMember, "look">,
  { test, pFamily, verdict }: { readonly test: CellTest; readonly pFamily: number; readonly verdict: Verdict },
  limits: Pick<VerdictLimits, "familyError">,
): Verdict {
  if (look === undefined || isUntested(verdict)) return verdict;
  if (look.claimed !== null) return look.claimed.verdict;
  const { best } = look;
  // Holm now leaves enough to what an earlier look showed, when it was not enough
  const byEarlier = best !== null && best.p === test.pEntered && pFamily < limits.familyError;
  if (!byEarlier || verdict === "no difference that matters") return verdict;
  return best.difference < 0 === (test.steadier === "lower") ? "steadier" : "less steady";
}

/**
 * Holm's step-down p values: each p of a family of m raised so that the chance of any false claim among the m stays below
 * the level at which they are read.
 *
 *   sorted, p_(1) <= ... <= p_(m):   adjusted p_(i) = max over j <= i of min(1, (m - j + 1) p_(j))
 *
 * @param p  one per member; null (nothing could be tested) counts as 1
 * @throws NotFiniteError  a p is NaN or infinite
 * @returns in the order given
 * @source S. Holm, Scand. J. Stat. 6 (1979) 65-70
 * @example holm([0.01, 0.04, 0.03]) // => [0.03, 0.06, 0.06]
 */
export function holm(p: readonly (number | null)[]): number[] {
  for (const [i, each] of p.entries())
    if (each !== null && !Number.isFinite(each)) throw new NotFiniteError("holm", i, each);
  const order = p.map((_, i) => i).sort((a, b) => (p[a] ?? 1) - (p[b] ?? 1));
  const adjusted = new Array<number>(p.length);
  let least = 0;
  for (const [rank, i] of order.entries()) {
    least = Math.max(least, Math.min(1, (p.length - rank) * (p[i] ?? 1)));
    adjusted[i] = least;
  }
  return adjusted;
}

/** Holm's p of one member whose p is changed while the others stay: `others` sorted, ascending. */
export function holmAmong(p: number | null, others: Float64Array): number {
  const own = p ?? 1;
  const size = others.length + 1;
  let rank = 0;
  let least = 0;
  for (; rank < others.length && others[rank]! < own; rank++) {
    least = Math.max(least, Math.min(1, (size - rank) * others[rank]!));
  }
  return Math.max(least, Math.min(1, (size - rank) * own));
}
