import { type JudgedIn, measureOf } from "../catalogue/measures.ts";
import type { Verdict } from "../catalogue/verdicts.ts";
import type { Campaign } from "../contract/campaign.ts";
import type { Cell, CellSide } from "../contract/cell.ts";
import type { RunEvaluation } from "../contract/evaluation.ts";
import type { PaidCell } from "../contract/looksPlan.ts";
import type { Settings } from "../contract/settings.ts";
import type { CheckCode } from "../foundation/checks.ts";
import { sampleStandardDeviation } from "../numeric/descriptive.ts";
import { constantWords } from "../words/findingWords.ts";
import { cellDoubts } from "./cellDoubts.ts";
import {
  type CellPlace,
  type CellRun,
  cellRuns,
  exploratoryPlaces,
  familyPlaces,
  judgedPlaces,
  type RunValues,
  runValues,
} from "./cellRuns.ts";
import { confoundedTrajectories } from "./confoundedTrajectories.ts";
import { constantOffset } from "./constantOffset.ts";
import { verdictLimits } from "./decideVerdict.ts";
import { differenceInterval } from "./estimateDifference.ts";
import { couldBePutBack, fragility, leaveOneOut } from "./fragility.ts";
import { type CellTest, type FamilyMember, judgeFamily, testCell } from "./judgeFamily.ts";
import { describeLook, payLooks, repeatedLevel } from "./looks/payLooks.ts";
import { groupSums, PositionBook } from "./permutationSums.ts";
import { permutationTest } from "./permutationTest.ts";
import { pairLimit } from "./plannedError.ts";
import { ratioInterval } from "./ratioInterval.ts";
import { runsNeededOf } from "./runsNeeded.ts";

/**
 * What a cell's difference is held against: the smallest one that matters, and which way is steadier. The smallest difference is
 * declared in the unit of the primary measure, and says nothing of measures in another.
 */
export function aimOf(
  campaign: Pick<Campaign, "primary" | "smallestDifference">,
  { subject, metric }: Pick<CellPlace, "subject" | "metric">,
): Pick<FamilyMember, "margin" | "steadier"> {
  const { unit, steadier } = measureOf(metric);
  const same = unit === measureOf(campaign.primary).unit;
  return { margin: same ? campaign.smallestDifference[subject] : null, steadier };
}

/**
 * All cells of a campaign: the declared family with verdicts, then the exploratory ones without.
 *
 * The run is the unit: one number per run enters, never samples or cycles. A claim that findings on the runs could have made is
 * `doubted` instead; its p stays in the family all the same, so that no other cell gains by it.
 *
 * @param runs  all runs of the evaluation; those with `used` count. Runs that a person excluded (and that are neither
 *              aborted nor unusable) are put back for `verdict_all_runs`
 * @param earlier  cells at the looks before this one, where looks are paid for
 * @source design, section 6; each test names its own
 */
export function compareCampaign(
  campaign: Campaign,
  runs: readonly RunEvaluation[],
  settings: Settings,
  earlier: readonly PaidCell[] = [],
): Cell[] {
  return compareContrasts([{ campaign, runs, earlier }], settings)[0]!;
}

/** A pair of configurations with the runs as they are judged for it. */
export interface JudgedPair {
  /** with the pair as baseline and candidate */
  readonly campaign: Campaign;
  readonly runs: readonly RunEvaluation[];
  /** cells at the looks before this one, where looks are paid for */
  readonly earlier: readonly PaidCell[];
}

/**
 * The same for several pairs of configurations of one campaign. Their cells make one family: Holm's p is taken over cells times
 * pairs, so that the chance of any false claim, on whichever pair, stays what it is for one.
 *
 * @returns cells of each pair, in the order given
 * @source S. Holm, Scand. J. Stat. 6 (1979) 65-70: holds however the tests depend on each other, as those of pairs that share runs do
 */
export function compareContrasts(pairs: readonly JudgedPair[], settings: Settings): Cell[][] {
  const limits = verdictLimits(settings);
  const book = new PositionBook();
  const sizes = pairs.map(({ campaign }) => familyPlaces(campaign).length);
  const familySize = sizes.reduce((sum, size) => sum + size, 0);
  const asked = pairs.map((pair) => askedOf(pair, payLooks(pair.campaign, pair.earlier, limits, familySize)));
  const judged = judgeFamily(
    asked.flatMap(({ members }) => members),
    limits,
  );
  const withAll = asked.every(({ members, membersOfAll }) => members === membersOfAll)
    ? judged
    : judgeFamily(
        asked.flatMap(({ membersOfAll }) => membersOfAll),
        limits,
      );
  let first = 0;
  return asked.map((own, k) => {
    const offset = first;
    first += sizes[k]!;
    return cellsOf(own, { judged, withAll, offset, familySize, book, settings });
  });
}

type FoundMember = FamilyMember & { readonly found: CellRun[] };
type Judgement = ReturnType<typeof judgeFamily>;

/** What a pair brings to the family. */
interface Asked extends JudgedPair {
  readonly used: readonly RunEvaluation[];
  readonly all: readonly RunEvaluation[];
  readonly places: readonly CellPlace[];
  readonly members: readonly FoundMember[];
  /** with the runs put back that a person excluded; the same where there are none */
  readonly membersOfAll: readonly FoundMember[];
}

function memberOf(campaign: Campaign, place: CellPlace, from: readonly RunEvaluation[]): FoundMember {
  const found = cellRuns(campaign, from, place);
  return { found, runs: columnsOf(campaign, found), ...aimOf(campaign, place) };
}

function askedOf(pair: JudgedPair, pay: ReturnType<typeof payLooks>): Asked {
  const { campaign, runs } = pair;
  const used = runs.filter((run) => run.used);
  const all = runs.filter((run) => run.used || couldBePutBack(campaign, run));
  const places = familyPlaces(campaign);
  const paidMember = (place: CellPlace, from: readonly RunEvaluation[]): FoundMember => {
    const member = memberOf(campaign, place, from);
    return { ...member, ...pay(place, member.runs) };
  };
  const members = places.map((place) => paidMember(place, used));
  const membersOfAll = all.length === used.length ? members : places.map((place) => paidMember(place, all));
  return { ...pair, used, all, places, members, membersOfAll };
}

/**
 * The cells of one pair.
 *
 * @param family.offset  where its members stand among those of all pairs
 */
function cellsOf(
  { campaign, used, all, places, members, membersOfAll }: Asked,
  {
    judged,
    withAll,
    offset,
    familySize,
    book,
    settings,
  }: {
    readonly judged: Judgement;
    readonly withAll: Judgement;
    readonly offset: number;
    readonly familySize: number;
    readonly book: PositionBook;
    readonly settings: Settings;
  },
): Cell[] {
  const limits = verdictLimits(settings);
  const byId = new Map(all.map((run) => [run.id, run]));
  const doubtsOf = (own: readonly FoundMember[], by: Judgement, i: number): CheckCode[] => {
    const member = own[i]!;
    const grounds = { place: places[i]!, member, found: member.found, verdict: by[offset + i]!.verdict };
    return cellDoubts(campaign, byId, { ...grounds, others: enteredBeside(by, offset + i) }, limits);
  };
  const confounded = new Set(confoundedTrajectories(campaign, used).map(({ trajectory }) => trajectory));

  const axesOf = judgedPlaces(all);
  const isShown = judged.map(({ pFamily }) => pFamily < limits.familyError);

  const family = places.map((place, i): Cell => {
    const { test, pFamily, verdict: byNumbers } = judged[offset + i]!;
    const member = members[i]!;
    const common = describeCell(campaign, place, member, test, { settings, book, judgedIn: axesOf(place) });
    const doubts = doubtsOf(members, judged, i);
    const verdict = doubts.length > 0 ? "doubted" : byNumbers;
    const numbers = { test, verdict: byNumbers };
    const constant = constantOffset(campaign, used, place, numbers, member.margin, settings);
    const verdictAllRuns = doubtsOf(membersOfAll, withAll, i).length > 0 ? "doubted" : withAll[offset + i]!.verdict;
    return {
      ...common,
      in_family: true,
      p_family: pFamily,
      verdict,
      verdict_all_runs: verdictAllRuns,
      doubts,
      constant,
      fragile: fragility(
        {
          verdict,
          runs: member.found.map(({ id }) => id),
          withoutOne: claims.has(verdict) ? leaveOneOut(member, enteredBeside(judged, offset + i), limits) : [],
          permutationP: common.p_permutation,
          verdictAllRuns,
          confounded: confounded.has(place.trajectory),
          constant: constant?.role ? constantWords(constant, constant.role) : null,
        },
        { permutationLevel: settings.permutation_level, equivalenceError: limits.equivalenceError },
      ),
      runs_needed: runsNeededOf(member, test, { familySize, settings }),
      ...describeLook(campaign, member, judged[offset + i]!, {
        familyError: limits.familyError,
        claimedBeside: isShown.filter((shown, j) => shown && j !== offset + i).length,
        family: familySize,
      }),
    };
  });
  const exploratory = exploratoryPlaces(campaign)
    .map((place) => ({ place, member: memberOf(campaign, place, used) }))
    .filter(({ member }) => member.found.length > 0)
    .map(({ place, member }): Cell => {
      const test = testCell(member, limits);
      const constant = constantOffset(campaign, used, place, { test, verdict: null }, member.margin, settings);
      return { ...describeCell(campaign, place, member, test, { settings, book, judgedIn: axesOf(place) }), constant };
    });
  return [...family, ...exploratory];
}

/** Verdicts that claim something, and can be fragile. */
const claims: ReadonlySet<Verdict> = new Set(["steadier", "less steady", "no difference that matters"]);

/** p of the other cells of a family as they entered, ascending. */
function enteredBeside(family: readonly { readonly test: CellTest }[], index: number): Float64Array {
  return Float64Array.from(
    family.filter((_, j) => j !== index),
    ({ test }) => test.pEntered,
  ).sort();
}

function columnsOf(campaign: Campaign, found: readonly CellRun[]): RunValues {
  return runValues(
    found.map(({ value, block, configuration }) => ({ value, block, candidate: configuration === campaign.candidate })),
  );
}

/** What is said of any cell, of the family or not. */
function describeCell(
  campaign: Campaign,
  place: CellPlace,
  { found, runs, margin, look }: FamilyMember & { readonly found: readonly CellRun[] },
  { estimate, p, pEquivalence }: CellTest,
  {
    settings,
    book,
    judgedIn,
  }: { readonly settings: Settings; readonly book: PositionBook; readonly judgedIn: JudgedIn },
): Cell {
  const baseline = sideOf(found.filter(({ configuration }) => configuration === campaign.baseline));
  const candidate = sideOf(found.filter(({ configuration }) => configuration === campaign.candidate));
  const difference =
    estimate?.difference ?? (baseline.mean !== null && candidate.mean !== null ? candidate.mean - baseline.mean : null);
  const spread = estimate !== null && estimate.standardError > 0;
  const share =
    estimate === null ? null : ratioInterval(groupSums(runs), estimate, repeatedLevel(look, settings.interval_level));
  const permutation = spread
    ? permutationTest(runs, estimate.method, {
        exactUpTo: settings.exact_arrangements,
        drawn: settings.drawn_arrangements,
        seed: settings.permutation_seed,
        book,
      })
    : null;
  return {
    ...place,
    judged_in: judgedIn,
    axis_name: judgedIn === "world" && place.axis !== "norm" ? campaign.axisNames[place.axis] : null,
    unit: measureOf(place.metric).unit,
    in_family: false,
    baseline,
    candidate,
    difference,
    ratio: share?.ratio ?? (difference !== null && baseline.mean ? difference / baseline.mean : null),
    ratio_ci95: share?.interval ? [...share.interval] : null,
    method: estimate?.method ?? "welch",
    se: spread ? estimate.standardError : null,
    df: spread ? estimate.degreesOfFreedom : null,
    ci95: spread ? differenceInterval(estimate, repeatedLevel(look, settings.interval_level)) : null,
    ci90: spread ? differenceInterval(estimate, repeatedLevel(look, settings.equivalence_level)) : null,
    p,
    p_family: null,
    p_permutation: permutation?.p ?? null,
    p_least: permutation?.leastP ?? null,
    arrangements: permutation?.arrangements ?? null,
    exact: permutation?.exact ?? null,
    p_equivalence: pEquivalence,
    smallest_difference: margin,
    verdict: null,
    verdict_all_runs: null,
    doubts: [],
    constant: null,
    fragile: [],
    pair: pairLimit(runs, { leastDf: settings.pair_least_df, level: settings.interval_level }),
    runs_needed: null,
  };
}

function sideOf(runs: readonly CellRun[]): CellSide {
  const values = Float64Array.from(runs, ({ value }) => value);
  return {
    n: values.length,
    mean: values.length === 0 ? null : values.reduce((sum, value) => sum + value, 0) / values.length,
    sd: values.length < 2 ? null : sampleStandardDeviation(values),
    values: [...values],
    runs: runs.map(({ id }) => id),
  };
}
