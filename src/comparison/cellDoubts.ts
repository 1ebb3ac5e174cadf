import { canMove } from "../catalogue/checks.ts";
import type { Campaign } from "../contract/campaign.ts";
import { isUntested, type Verdict } from "../contract/cell.ts";
import type { RunEvaluation } from "../contract/evaluation.ts";
import type { CheckCode } from "../foundation/checks.ts";
import type { CellPlace, CellRun } from "./cellRuns.ts";
import type { VerdictLimits } from "./decideVerdict.ts";
import { estimateOfGroups } from "./estimateDifference.ts";
import { groupSums } from "./groupSums.ts";
import { holmAmong } from "./holm.ts";
import { type FamilyMember, testGroups, verdictOf } from "./judgeFamily.ts";
import type { RunValues } from "./runValues.ts";

/** A cell as it was judged by its numbers alone. */
export interface JudgedByNumbers {
  readonly place: CellPlace;
  readonly member: FamilyMember;
  /** in the order of the member's columns */
  readonly found: readonly CellRun[];
  readonly verdict: Verdict;
  /** p of the family's other cells as they entered, ascending */
  readonly others: Float64Array;
}

/** From this share of a configuration's runs on, what is doubted of them is doubted of the configuration. */
const mostDoubted = 0.5;

/**
 * The findings that could have made a claim: those that touch the cell's figure (`canMove`) and that nobody has taken as they
 * are. They count where half or more of the runs of either configuration bear one, so that no majority of sound runs is left to
 * speak; or where the verdict is another without the runs that bear one, the other cells kept.
 *
 * An interval is a claim too: within the noise its figures say where the difference can lie, and doubted ones can say it wrongly.
 * There only the majority counts, since a verdict that changes without some runs was none. Too few runs say nothing.
 *
 * @returns codes in the order met; empty where the claim stands
 */
export function cellDoubts(
  campaign: Pick<Campaign, "baseline" | "candidate" | "trajectories">,
  runs: ReadonlyMap<string, RunEvaluation>,
  { place, member, found, verdict, others }: JudgedByNumbers,
  limits: VerdictLimits,
): CheckCode[] {
  if (isUntested(verdict)) return [];
  const window = campaign.trajectories[place.trajectory]!.shape === "hold" ? "hold" : "cycles";
  const codes = found.map(({ id }) => doubtsOf(runs.get(id), { ...place, window }));
  const doubted = codes.map((own) => own.length > 0);
  if (!doubted.includes(true)) return [];
  const all = [...new Set(codes.flat())];
  const most = [campaign.baseline, campaign.candidate].some((side) => {
    const own = doubted.filter((_, i) => found[i]!.configuration === side);
    return own.length > 0 && own.filter(Boolean).length >= mostDoubted * own.length;
  });
  if (most) return all;
  return verdict !== "within the noise" && verdictWithout(member, doubted, others, limits) !== verdict ? all : [];
}

/** Codes of a run's doubts that can have moved a figure and that nobody has taken as they are. */
export function doubtsOf(
  run: Pick<RunEvaluation, "checks"> | undefined,
  place: Parameters<typeof canMove>[1],
): CheckCode[] {
  const checks = run?.checks ?? [];
  return checks
    .filter((check) => check.severity === "doubt" && check.accepted_because === null && canMove(check.touches, place))
    .map(({ code }) => code);
}

/** The verdict without some of the runs: method and kind of standard error are kept, and so are the other cells. */
function verdictWithout(
  member: FamilyMember,
  left: readonly boolean[],
  others: Float64Array,
  limits: VerdictLimits,
): Verdict {
  const { runs } = member;
  const like = estimateOfGroups(groupSums(runs));
  const test = testGroups(groupSums(rowsOf(runs, (i) => !left[i])), member, limits, like);
  return verdictOf(test, holmAmong(test.pEntered, others), limits);
}

function rowsOf(runs: RunValues, keep: (index: number) => boolean): RunValues {
  const kept = <T extends Float64Array | Uint8Array | Int32Array>(column: T): T =>
    column.filter((_, i) => keep(i)) as T;
  return { ...runs, values: kept(runs.values), candidate: kept(runs.candidate), block: kept(runs.block) };
}
