import type { Verdict } from "../catalogue/verdicts.ts";
import type { Campaign } from "../contract/campaign.ts";
import type { RunEvaluation } from "../contract/evaluation.ts";
import type { VerdictLimits } from "./decideVerdict.ts";
import { estimateOfGroups } from "./estimateDifference.ts";
import { type CellTest, type FamilyMember, holmAmong, testGroups, verdictOf } from "./judgeFamily.ts";
import { groupSums, groupSumsWithout } from "./permutationSums.ts";

/** What may make a verdict fragile. */
export interface FragilityGrounds {
  readonly verdict: Verdict;
  /** ids of the cell's runs */
  readonly runs: readonly string[];
  readonly withoutOne: readonly WithoutOne[];
  readonly permutationP: number | null;
  /** with the runs put back that a person excluded */
  readonly verdictAllRuns: Verdict;
  /** the configurations were flown in separate blocks, all or in part */
  readonly confounded?: boolean;
  /** what a constant offset is to the verdict, in words; null where it is nothing */
  readonly constant?: string | null;
}

interface FragilityLimits {
  readonly permutationLevel: number;
  readonly equivalenceError: number;
}

/**
 * Why a claim hangs by a thread (design, section 6, item 7; where a constant offset makes or hides a difference; and where the
 * blocks are confounded, which none of its reasons sees in `no difference that matters`). Only a verdict that claims something can: `steadier`, `less
 * steady` and `no difference that matters`.
 *
 * @returns one sentence per reason; empty where nothing found shakes the verdict
 */
export function fragility(grounds: FragilityGrounds, limits: FragilityLimits): string[] {
  const { verdict, permutationP, verdictAllRuns } = grounds;
  const reasons: string[] = [];
  if (verdict === "steadier" || verdict === "less steady") {
    reasons.push(...changedWithout(grounds));
    if (permutationP !== null && permutationP > limits.permutationLevel) {
      reasons.push(
        `the permutation p is ${aboveText(permutationP, limits.permutationLevel)}, above ${limits.permutationLevel}: the verdict rests on the t distribution alone`,
      );
    }
  } else if (verdict === "no difference that matters") {
    const leaving = grounds.withoutOne
      .filter(({ test }) => !(test.pEquivalence !== null && test.pEquivalence < limits.equivalenceError))
      .map(({ index }) => grounds.runs[index]!);
    if (leaving.length > 0) {
      reasons.push(`${withoutAny(leaving)} the 90 % interval leaves the smallest difference`);
    }
  } else return [];
  if (grounds.constant) reasons.push(grounds.constant);
  if (grounds.confounded) reasons.push("the configurations were flown in separate blocks, all or in part");
  if (verdictAllRuns !== verdict) {
    reasons.push(`with the runs put back that a person excluded it would be "${verdictAllRuns}"`);
  }
  return reasons;
}

/** One sentence for each verdict that the loss of a single run would lead to. */
function changedWithout({ verdict, runs, withoutOne }: FragilityGrounds): string[] {
  const byVerdict = new Map<Verdict, string[]>();
  for (const { index, verdict: other } of withoutOne) {
    if (other === verdict) continue;
    byVerdict.set(other, [...(byVerdict.get(other) ?? []), runs[index]!]);
  }
  return [...byVerdict].map(([other, ids]) => `${withoutAny(ids)} it would be "${other}"`);
}

/** Two figures, more where fewer would read as the level itself: 0.0504 is above 0.05, "0.050" is not. */
function aboveText(p: number, level: number): string {
  let figures = 2;
  while (figures < 15 && Number(p.toPrecision(figures)) <= level) figures++;
  return p.toPrecision(figures);
}

/** At most this many runs are named. */
const named = 4;

function withoutAny(ids: readonly string[]): string {
  if (ids.length === 1) return `without ${ids[0]}`;
  if (ids.length > named) return `without any one of ${ids.length} runs (${ids.slice(0, named).join(", ")} ...)`;
  if (ids.length === 2) return `without either of ${ids.join(" and ")}`;
  return `without any one of ${ids.slice(0, -1).join(", ")} and ${ids.at(-1)}`;
}

/** A cell with one run left out. */
interface WithoutOne {
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

/** A person excluded the run, and nothing else speaks against it: unusable and aborted runs are never put back. */
export function couldBePutBack(campaign: Campaign, run: RunEvaluation): boolean {
  if (run.outcome !== "completed" || run.checks.some(({ severity }) => severity === "unusable")) return false;
  return campaign.runs.some(({ id, exclude }) => id === run.id && exclude !== null);
}
