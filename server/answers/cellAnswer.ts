import type { Verdict } from "../../src/catalogue/verdicts.ts";
import { type CellPlace, cellRuns, cellValue, familyPlaces, runValues } from "../../src/comparison/cellRuns.ts";
import { aimOf } from "../../src/comparison/compareCampaign.ts";
import { verdictLimits } from "../../src/comparison/decideVerdict.ts";
import { differenceInterval } from "../../src/comparison/estimateDifference.ts";
import { couldBePutBack, leaveOneOut } from "../../src/comparison/fragility.ts";
import { type CellTest, type FamilyMember, judgeFamily, testCell } from "../../src/comparison/judgeFamily.ts";
import { judgedLooks, repeatedLevel } from "../../src/comparison/looks/payLooks.ts";
import { type PermutationResult, permutationTest } from "../../src/comparison/permutationTest.ts";
import type { CellAnswer } from "../../src/contract/api/cellAnswers.ts";
import type { Campaign } from "../../src/contract/campaign.ts";
import { contrastsOf } from "../../src/contract/campaignParts.ts";
import type { Cell } from "../../src/contract/cell.ts";
import type { RunEvaluation } from "../../src/contract/evaluation.ts";
import { defaultSettings } from "../../src/contract/settings.ts";
import type { Judged } from "../Service.ts";
import { roleOf } from "./campaignView.ts";
import { noiseOf, powerCurve } from "./powerCurve.ts";
import { flownOrder } from "./runRows.ts";

const mostBins = 61;

/**
 * The permutation distribution as a histogram: bins of equal width, even about 0, so that an arrangement and its mirror lie
 * alike. In each, how many arrangements are at least as extreme as the one flown; for an exact test these add up to p times
 * the arrangements.
 */
export function permutationBins(result: PermutationResult): NonNullable<CellAnswer["permutation"]> {
  const { differences, observed, p, leastP, arrangements, exact } = result;
  let reach = Math.abs(observed);
  for (let i = 0; i < differences.length; i++) reach = Math.max(reach, Math.abs(differences[i]!));
  // an odd number, so that 0 lies in the middle of a bin
  const bins = Math.min(mostBins, 2 * Math.ceil(Math.sqrt(arrangements)) + 1);
  const width = (2 * reach) / bins || Number.MIN_VALUE;
  const counts = new Array<number>(bins).fill(0);
  const extreme = new Array<number>(bins).fill(0);
  for (const at of asExtreme(result)) extreme[binOf(differences[at]!, reach, width, bins)]!++;
  for (let i = 0; i < differences.length; i++) counts[binOf(differences[i]!, reach, width, bins)]!++;
  return {
    observed,
    edges: Array.from({ length: bins + 1 }, (_, k) => (k === bins ? reach : k * width - reach)),
    counts,
    extreme,
    arrangements,
    exact,
    p,
    p_least: leastP,
  };
}

function binOf(value: number, reach: number, width: number, bins: number): number {
  return Math.min(bins - 1, Math.max(0, Math.floor((value + reach) / width)));
}

/** The arrangements that the test counted: the b most extreme, b from its p, so that rounding cannot part the two. */
function asExtreme({ differences, p, exact }: PermutationResult): number[] {
  const counted = Math.round(exact ? p * differences.length : p * (differences.length + 1) - 1);
  const order = Array.from(differences.keys()).sort((a, b) => Math.abs(differences[b]!) - Math.abs(differences[a]!));
  return order.slice(0, counted);
}

const settings = defaultSettings;
const limits = verdictLimits(settings);

type Variant = NonNullable<CellAnswer["all_runs"]>;
type Member = FamilyMember & { readonly ids: readonly string[] };
/** A cell's runs with what its look is worth. */
type Beside = (runs: readonly RunEvaluation[]) => readonly FamilyMember[];
type MemberOf = (runs: readonly RunEvaluation[], place: CellPlace) => Member;

/**
 * What the page of one cell draws: made by the functions that made the cell, so both say the same.
 *
 * Cost: the permutation (100 000 arrangements at most) and the comparison once per run of the cell.
 */
export function cellAnswer({ campaign, evaluation }: Judged, cell: Cell): CellAnswer {
  const used = evaluation.runs.filter((run) => run.used);
  const all = evaluation.runs.filter((run) => run.used || couldBePutBack(campaign, run));
  const place: CellPlace = {
    trajectory: cell.trajectory,
    subject: cell.subject,
    axis: cell.axis,
    metric: cell.metric,
  };
  const family = cell.in_family ? familyPlaces(campaign) : [];
  const looked = judgedLooks(campaign, limits, family.length);
  const cellAt = (other: CellPlace): Cell | undefined => evaluation.cells.find((one) => samePlace(one, other));
  const memberOf: MemberOf = (runs, other) => {
    const own = cellAt(other);
    return { ...unpaidMember(campaign, runs, other), ...(own === undefined ? {} : looked(own)) };
  };
  // the cells of the other pairs that share the family's error
  const beside: Beside = (runs) =>
    contrastsOf(campaign)
      .slice(1)
      .flatMap((pair) => family.map((other) => unpaidMember(pair, runs, other)));
  const member = memberOf(used, place);
  const test = testCell(member, limits);
  return {
    cell,
    noise: cell.axis === "norm" ? null : noiseOf(evaluation, cell.subject, cell.axis),
    runs: cellRunRows(campaign, evaluation.runs, place),
    permutation:
      test.estimate === null || test.estimate.standardError === 0
        ? null
        : permutationBins(
            permutationTest(member.runs, test.estimate.method, {
              exactUpTo: settings.exact_arrangements,
              drawn: settings.drawn_arrangements,
              seed: settings.permutation_seed,
            }),
          ),
    leave_one_out: withoutEach(used, { place, member, family, cellAt, memberOf, beside }),
    all_runs: all.length === used.length ? null : withAll(all, place, family, { memberOf, beside }),
    power: powerCurve(member, test, cell, family.length * contrastsOf(campaign).length),
  };
}

function unpaidMember(campaign: Campaign, runs: readonly RunEvaluation[], place: CellPlace): Member {
  const found = cellRuns(campaign, runs, place);
  return {
    ids: found.map(({ id }) => id),
    runs: runValues(
      found.map(({ value, block, configuration }) => ({
        value,
        block,
        candidate: configuration === campaign.candidate,
      })),
    ),
    ...aimOf(campaign, place),
  };
}

function cellRunRows(campaign: Campaign, runs: readonly RunEvaluation[], place: CellPlace): CellAnswer["runs"] {
  const order = flownOrder(runs);
  const { shape } = campaign.trajectories[place.trajectory]!;
  return runs.flatMap((run, k) =>
    run.trajectory !== place.trajectory
      ? []
      : [
          {
            id: run.id,
            configuration: run.configuration,
            role: roleOf(campaign, run.configuration),
            block: run.block,
            order: order[k]!,
            used: run.used,
            excluded_because: run.excluded_because,
            could_be_put_back: couldBePutBack(campaign, run),
            value: cellValue(run, shape, place),
            per_cycle: run.tracking.cycles?.[place.subject]?.[place.axis].per_cycle ?? [],
          },
        ],
  );
}

function withoutEach(
  used: readonly RunEvaluation[],
  cell: {
    readonly place: CellPlace;
    readonly member: Member;
    readonly family: readonly CellPlace[];
    readonly cellAt: (place: CellPlace) => Cell | undefined;
    readonly memberOf: MemberOf;
    readonly beside: Beside;
  },
): CellAnswer["leave_one_out"] {
  const { place, member, family, cellAt, memberOf, beside } = cell;
  const others = family.filter((other) => !samePlace(other, place));
  const entered = Float64Array.from([
    ...others.map((other) => cellAt(other)?.look?.entered ?? testCell(memberOf(used, other), limits).pEntered),
    ...beside(used).map((other) => testCell(other, limits).pEntered),
  ]).sort();
  return leaveOneOut(member, entered, limits).map(({ index, test, pFamily, verdict }) => ({
    run: member.ids[index]!,
    // an exploratory cell has no family and carries no verdict
    ...(family.length === 0 ? variantOf(test, member, null, null) : variantOf(test, member, pFamily, verdict)),
  }));
}

function withAll(
  all: readonly RunEvaluation[],
  place: CellPlace,
  family: readonly CellPlace[],
  { memberOf, beside }: { readonly memberOf: MemberOf; readonly beside: Beside },
): Variant {
  const index = family.findIndex((other) => samePlace(other, place));
  const own = memberOf(all, place);
  if (index < 0) return variantOf(testCell(own, limits), own, null, null);
  const judged = judgeFamily([...family.map((other) => memberOf(all, other)), ...beside(all)], limits)[index]!;
  return variantOf(judged.test, own, judged.pFamily, judged.verdict);
}

function variantOf(
  { estimate, p }: CellTest,
  { look }: Pick<FamilyMember, "look">,
  pFamily: number | null,
  verdict: Verdict | null,
): Variant {
  return {
    difference: estimate?.difference ?? null,
    ci95: estimate === null ? null : differenceInterval(estimate, repeatedLevel(look, settings.interval_level)),
    p,
    p_family: pFamily,
    verdict,
  };
}

function samePlace(a: CellPlace, b: CellPlace): boolean {
  return a.trajectory === b.trajectory && a.subject === b.subject && a.axis === b.axis && a.metric === b.metric;
}
