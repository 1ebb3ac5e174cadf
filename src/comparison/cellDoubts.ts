import { canMove } from "../catalogue/checks.ts";
import { isUntested, type Verdict } from "../catalogue/verdicts.ts";
import type { Acceptance, Campaign } from "../contract/campaign.ts";
import type { RunCheck, RunEvaluation } from "../contract/evaluation.ts";
import type { CheckCode } from "../foundation/checks.ts";
import type { CellPlace, CellRun, RunValues } from "./cellRuns.ts";
import type { VerdictLimits } from "./decideVerdict.ts";
import { estimateOfGroups } from "./estimateDifference.ts";
import { type FamilyMember, holmAmong, testGroups, verdictOf } from "./judgeFamily.ts";
import { groupSums } from "./permutationSums.ts";

/** A cell as it was judged by its numbers alone. */
interface JudgedByNumbers {
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
function doubtsOf(run: Pick<RunEvaluation, "checks"> | undefined, place: Parameters<typeof canMove>[1]): CheckCode[] {
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

/** A finding speaks again where one of its figures is further than this from what was accepted. */
const tolerance = 0.2;

/** Figures that say how large a fault is; the others count and date it. */
const sized = /_(?:m|rad|s|hz|v)$|share|ratio|^ratio/;
const dated = /(?:^|_)(?:at|from|first|last)_/;

/**
 * The runs with the doubts marked that a person takes as they are (`accept` of the manifest): as long as each of the figures that
 * were accepted is within 20 % of what it was then, of the largest of its unit for the parts of a vector. A finding that has
 * grown speaks again, and so does an acceptance that names no figure: it would take anything. What makes a run unusable is
 * never taken.
 */
export function withAccepted(accept: readonly Acceptance[], runs: readonly RunEvaluation[]): RunEvaluation[] {
  if (accept.length === 0) return [...runs];
  return runs.map((run) => ({
    ...run,
    checks: run.checks.map((check) => {
      const because = accept.find((entry) => isAbout(entry, run.id, check) && isAsAccepted(entry, check))?.because;
      return because === undefined ? check : { ...check, accepted_because: because };
    }),
  }));
}

/** Whether an acceptance means this finding, whatever its figures. */
export function isAbout({ check: code, runs }: Acceptance, run: string, check: RunCheck): boolean {
  return check.code === code && check.severity === "doubt" && (runs === "all" || runs.includes(run));
}

export function isAsAccepted({ evidence }: Acceptance, check: RunCheck): boolean {
  const names = Object.keys(evidence);
  return names.length > 0 && names.every((name) => isNear(name, evidence, check.evidence[name]));
}

function isNear(
  name: string,
  accepted: Acceptance["evidence"],
  found: RunCheck["evidence"][string] | undefined,
): boolean {
  const wanted = accepted[name]!;
  if (typeof wanted === "string") return String(found) === wanted;
  if (typeof found !== "number") return false;
  const alike = Object.entries(accepted).flatMap(([other, value]) =>
    unitOf(other) === unitOf(name) && typeof value !== "string" ? value.map(Math.abs) : [],
  );
  const slack = tolerance * Math.max(...alike);
  return found >= wanted[0] - slack && found <= wanted[1] + slack;
}

function unitOf(name: string): string {
  return name.slice(name.lastIndexOf("_") + 1);
}

/** The figures of some findings as an acceptance would name them: "{ off_x_m: [0.301, 0.33], off_y_m: 0.02 }". */
export function evidenceText(checks: readonly RunCheck[]): string {
  const names = Object.keys(checks[0]?.evidence ?? {});
  const numbers = names.filter((name) => checks.every(({ evidence }) => typeof evidence[name] === "number"));
  const telling = numbers.filter((name) => sized.test(name) && !dated.test(name));
  const chosen = telling.length > 0 ? telling : numbers;
  const parts = (chosen.length > 0 ? chosen : names).slice(0, 6).map((name) => {
    const values = checks.map(({ evidence }) => evidence[name]);
    if (!numbers.includes(name)) return `${name}: ${JSON.stringify(String(values[0]))}`;
    const [least, most] = [Math.min(...(values as number[])), Math.max(...(values as number[]))].map(short);
    return `${name}: ${least === most ? least : `[${least}, ${most}]`}`;
  });
  return `{ ${parts.join(", ")} }`;
}

function short(value: number): string {
  return String(Number(value.toPrecision(3)));
}
