import type { Campaign } from "../../contract/campaign.ts";
import type { Cell } from "../../contract/cell.ts";
import type { CellLook, LooksPaid, PaidCell } from "../../contract/looksPlan.ts";
import { normalCdf, normalQuantile } from "../../numeric/normal.ts";
import type { CellPlace, RunValues } from "../cellRuns.ts";
import type { VerdictLimits } from "../decideVerdict.ts";
import { estimateOfGroups } from "../estimateDifference.ts";
import type { CellTest, FamilyMember } from "../judgeFamily.ts";
import { groupSums, sideCounts } from "../permutationSums.ts";
import { fractionOf, type MemberLook, memberLook, pricesOf } from "./memberLook.ts";
import { thresholdAt } from "./spending.ts";

/** Whether two places, or a cell and a place, are of the same cell. */
function isOf(cell: CellPlace, { trajectory, subject, axis, metric }: CellPlace): boolean {
  return cell.trajectory === trajectory && cell.subject === subject && cell.axis === axis && cell.metric === metric;
}

/** The look at a cell; nothing where looks are not paid for, or the cell cannot be tested: then nothing is spent. */
export type PayLook = (place: CellPlace, runs: RunValues) => Pick<FamilyMember, "look">;

/**
 * How each cell of the family is looked at, after the looks on record.
 *
 * @param earlier  cells as they were at earlier looks, in the order of these
 * @param family   number of cells of the family
 */
export function payLooks(
  { looks: plan }: Pick<Campaign, "looks">,
  earlier: readonly PaidCell[],
  limits: VerdictLimits,
  family: number,
): PayLook {
  if (plan === undefined) return () => ({});
  const prices = pricesOf(plan, limits, family);
  return (place, runs) => {
    const groups = groupSums(runs);
    const estimate = estimateOfGroups(groups);
    if (estimate === null || Math.min(...sideCounts(groups)) < limits.leastRuns) return {};
    const fraction = fractionOf(groups, estimate.method, plan);
    if (fraction === null) return {};
    return {
      look: memberLook(
        fraction,
        earlier.filter((cell) => isOf(cell, place)),
        prices,
      ),
    };
  };
}

/** The look at a cell as it was judged, to judge it again with other values; nothing where it was not paid for. */
export function judgedLooks(
  { looks: plan }: Pick<Campaign, "looks">,
  limits: VerdictLimits,
  family: number,
): (cell: Pick<Cell, "look" | "difference">) => Pick<FamilyMember, "look"> {
  const prices = plan === undefined ? null : pricesOf(plan, limits, family);
  return ({ look, difference }) => {
    if (look === undefined || prices === null) return {};
    const { fractions, p, entered, claimed } = look;
    const best = entered < p ? { p: entered, difference: difference ?? 0 } : null;
    return { look: { price: prices(fractions), furthest: 0, best, claimed } };
  };
}

/** Narrower than one in a million million misses, no interval need be. */
const leastOutside = 1e-12;

/** The level at which an interval has to be taken at this look so that the intervals of all looks together have the level given. */
export function repeatedLevel(look: MemberLook | undefined, level: number): number {
  return look === undefined ? level : 1 - Math.max(leastOutside, look.price.outside(1 - level));
}

/** What a look at a cell cost, what it needs, and what chance is left. */
export function describeLook(
  campaign: Pick<Campaign, "looks">,
  { look, margin }: Pick<FamilyMember, "look" | "margin">,
  judged: { readonly test: CellTest; readonly pFamily: number },
  { familyError, claimedBeside, family }: { familyError: number; claimedBeside: number; family: number },
): { look?: CellLook } {
  if (look === undefined || campaign.looks === undefined) return {};
  const { test, pFamily } = judged;
  const level = familyError / (family - claimedBeside);
  const { price, claimed } = look;
  const isShown = claimed !== null || pFamily < familyError;
  return {
    look: {
      fractions: [...price.fractions],
      ...price.spent(familyError, look.furthest),
      threshold: price.threshold(level),
      p: test.p === null ? 1 : price.sequential(test.p),
      entered: test.pEntered,
      claimed,
      chance:
        isShown || margin === null ? null : chanceLeft(test, margin, campaign.looks.spending, level, price.fractions),
    },
  };
}

/** What this look spends and what is spent, by trajectory: of the cell furthest on, as others may lack a run. */
export function paidByTrajectory(
  { looks: plan, trajectories }: Pick<Campaign, "looks" | "trajectories">,
  cells: readonly Cell[],
  error: number,
): { paid?: LooksPaid } {
  if (plan === undefined) return {};
  const furthest = Object.keys(trajectories).flatMap((trajectory) => {
    const own = cells.flatMap((cell) => (cell.trajectory === trajectory && cell.look !== undefined ? [cell.look] : []));
    const fraction = Math.max(...own.map(({ fractions }) => fractions.at(-1)!));
    const look = own.find(({ fractions }) => fractions.at(-1) === fraction);
    return look === undefined ? [] : [{ trajectory, fraction, cost: look.cost, spent: look.spent }];
  });
  return { paid: { ...plan, error, trajectories: furthest } };
}

/**
 * Conditional power: how often the cell is claimed once all runs are flown, given what they show by now, if the true change
 * is the smallest that matters, in whichever direction has the better chance. As if one more look came, at the end.
 *
 *   W(t) = z sqrt(t),  W(1) | W(t) ~ normal(W(t) + drift (1 - t), 1 - t),  drift = margin / (se sqrt(t))
 *
 * @returns 0 to 1; null where all are flown, or the runs show no spread
 * @source K. K. G. Lan, R. Simon, M. Halperin, Sequential Analysis 1 (1982) 207-219; C. Jennison, B. W. Turnbull, Group
 *         Sequential Methods (2000), section 10.2 (from memory)
 */
export function chanceLeft(
  { estimate, p }: Pick<CellTest, "estimate" | "p">,
  margin: number,
  spending: Parameters<typeof thresholdAt>[0],
  level: number,
  fractions: readonly number[],
): number | null {
  const now = fractions.at(-1)!;
  if (estimate === null || p === null || now >= 1) return null;
  const critical = -normalQuantile(thresholdAt(spending, level, [...fractions, 1]) / 2);
  const reached = -normalQuantile(p / 2) * Math.sqrt(now) * Math.sign(estimate.difference);
  const drift = margin / (estimate.standardError * Math.sqrt(now));
  const left = 1 - now;
  const chances = [1, -1].map((way) => {
    const end = reached + way * drift * left;
    return normalCdf((end - critical) / Math.sqrt(left)) + normalCdf((-end - critical) / Math.sqrt(left));
  });
  return Math.min(1, Math.max(...chances));
}
