import { isUntested, type Verdict } from "../catalogue/verdicts.ts";
import type { Campaign } from "../contract/campaign.ts";
import type { CellConstant, ConstantRole } from "../contract/cell.ts";
import type { RunEvaluation } from "../contract/evaluation.ts";
import type { Settings } from "../contract/settings.ts";
import { fUpperTail } from "../numeric/fUpperTail.ts";
import { type CellPlace, cellRuns, runValues } from "./cellRuns.ts";
import { differenceInterval, differenceP, estimateDifference } from "./estimateDifference.ts";
import type { CellTest } from "./judgeFamily.ts";
import { groupSums } from "./permutationSums.ts";

/**
 * What a constant offset does in a cell of the rms: rms^2 = bias^2 + spread^2 in every run, so that a frame that is off by some
 * centimetres drowns what the spread does, and one that is off in one configuration alone makes a difference of its own.
 *
 * Constant is what the runs of one configuration and block have in common: their mean bias m of n runs, whose square is too
 * large by the chance part v/n, v the variance of the bias within these groups. Over all groups
 *
 *   share = sum( n m^2 - v ) / sum of the runs' rms^2,   0 where F = sum(n m^2)/groups/v is no clearer than `constant_p`
 *
 * What wanders from run to run is no offset: it is the error, and was flown.
 *
 * @param runs  the used runs
 * @param test  of this cell, by its numbers
 * @returns null for another measure than rms, or fewer than two runs of either configuration
 */
export function constantOffset(
  campaign: Campaign,
  runs: readonly RunEvaluation[],
  place: CellPlace,
  { test, verdict }: { readonly test: CellTest; readonly verdict: Verdict | null },
  margin: number | null,
  settings: Settings,
): CellConstant | null {
  if (place.metric !== "rms" || test.estimate === null) return null;
  const comparisonOf = (metric: CellPlace["metric"] | "bias"): CellConstant["sd"] => {
    const columns = columnsOf(campaign, runs, place, metric);
    const estimate = estimateDifference(columns);
    if (estimate === null) return null;
    const ci95 = differenceInterval(estimate, settings.interval_level);
    return { difference: estimate.difference, ci95, p: differenceP(estimate) };
  };
  const step = comparisonOf("bias");
  const sd = comparisonOf("sd");
  if (step === null || sd === null) return null;
  const columns = columnsOf(campaign, runs, place, "bias");
  const squares = columnsOf(campaign, runs, place, "rms").values.reduce((sum, rms) => sum + rms * rms, 0);
  const { constant, p } = constantSquares(columns, settings.constant_p);
  const total = constant[0] + constant[1];
  const found = {
    share: squares > 0 ? Math.min(1, total / squares) : 0,
    common: meanOf(columns.values),
    step: step.difference,
    step_ci95: step.ci95,
    block_step: blockStep(columns),
    sd,
    synchronous: comparisonOf("synchronous"),
  };
  const stepShare = p < settings.constant_p ? shareOfDifference(columns, campaign, runs, place, constant) : 0;
  return {
    ...found,
    role: verdict === null ? null : roleOf({ ...found, stepShare, p }, { test, verdict }, margin, settings),
  };
}

function columnsOf(
  campaign: Campaign,
  runs: readonly RunEvaluation[],
  place: CellPlace,
  metric: CellPlace["metric"] | "bias",
) {
  return runValues(
    cellRuns(campaign, runs, { ...place, metric }).map(({ value, block, configuration }) => ({
      value,
      block,
      candidate: configuration === campaign.candidate,
    })),
  );
}

/** Sum over the runs of either configuration of the squared bias that they have in common, 0 where chance is likelier than `level`; and how likely. */
function constantSquares(
  columns: ReturnType<typeof columnsOf>,
  level: number,
): { constant: [number, number]; p: number } {
  const { count, mean, squares } = groupSums(columns);
  const groups = count.filter((n) => n > 0).length;
  const df = columns.values.length - groups;
  const variance = df > 0 ? squares.reduce((sum, own) => sum + own, 0) / df : 0;
  const constant: [number, number] = [0, 0];
  let above = 0;
  for (let group = 0; group < count.length; group++) {
    if (count[group] === 0) continue;
    above += count[group]! * mean[group]! ** 2;
    constant[(group % 2) as 0 | 1] += count[group]! * mean[group]! ** 2 - variance;
  }
  const p = variance === 0 ? Number(!(above > 0)) : df > 0 ? fUpperTail(above / groups / variance, groups, df) : 1;
  return { constant: p < level ? [Math.max(0, constant[0]), Math.max(0, constant[1])] : [0, 0], p };
}

/** How much of the difference of the mean squares is one of what is constant; 0 where it points the other way. */
function shareOfDifference(
  { candidate }: ReturnType<typeof columnsOf>,
  campaign: Campaign,
  runs: readonly RunEvaluation[],
  place: CellPlace,
  constant: readonly [number, number],
): number {
  const rms = columnsOf(campaign, runs, place, "rms");
  const n = [0, 0];
  const squares = [0, 0];
  rms.values.forEach((value, i) => {
    n[candidate[i]!]!++;
    squares[candidate[i]!]! += value * value;
  });
  const whole = squares[1]! / n[1]! - squares[0]! / n[0]!;
  const share = (constant[1] / n[1]! - constant[0] / n[0]!) / whole;
  return Number.isFinite(share) ? Math.max(0, share) : 0;
}

/**
 * What the offset is to the verdict:
 *
 *   explains  a difference that is one of the offset, which the spread does not confirm
 *   drowns    it carries most of the mean square, and the spread says something else than the rms
 *   hides     the spread differs by what lies outside of what the rms leaves open, beside an offset that carries less
 *   adds      a difference that the spread confirms, most of which is one of the offset
 */
function roleOf(
  { share, stepShare, p, sd }: Pick<CellConstant, "share" | "sd"> & { readonly stepShare: number; readonly p: number },
  { test, verdict }: { readonly test: CellTest; readonly verdict: Verdict },
  margin: number | null,
  settings: Settings,
): ConstantRole | null {
  if (isUntested(verdict) || sd === null || test.estimate === null) return null;
  const isClear = sd.p !== null && sd.p < 1 - settings.interval_level;
  const drowned = share > settings.constant_share;
  const inside = margin !== null && sd.ci95 !== null && Math.max(-sd.ci95[0], sd.ci95[1]) < margin;
  if (verdict === "no difference that matters") {
    if (drowned && !inside) return "drowns";
    return isClear && margin !== null && share > 0 && Math.abs(sd.difference) > margin ? "hides" : null;
  }
  const isClaim = verdict !== "within the noise";
  const sameSign = Math.sign(sd.difference) === Math.sign(test.estimate.difference);
  if (isClaim && stepShare > settings.constant_share) {
    // a spread that differs by a hair confirms no difference of millimetres
    const confirmed = sd.p !== null && sd.p < settings.constant_p && !inside && sameSign;
    return confirmed ? "adds" : "explains";
  }
  // of the cells of a family some show an offset by chance at `constant_p`, and chance that made one moved the rms as well
  const sure = p < settings.constant_misled_p;
  const misled = isMisled(test, sd.difference, margin, settings, { sure, clear: !isClaim && isClear && share > 0 });
  if (!drowned) return misled ? "hides" : null;
  const disagrees = isClaim ? !isClear || !sameSign : isClear;
  return disagrees || misled ? "drowns" : null;
}

/**
 * Whether what the offset alone does to the difference lies outside of its interval, or is itself more than matters.
 *
 * @param seen.sure   the offset is beyond chance in a whole family
 * @param seen.clear  the spreads are apart where the rms claims nothing: they show what an offset of less certainty has hidden
 */
function isMisled(
  test: CellTest,
  spread: number,
  margin: number | null,
  settings: Settings,
  { sure, clear }: { readonly sure: boolean; readonly clear: boolean },
): boolean {
  const outside = !reaches(test, spread, margin, settings);
  const moved = Math.abs(spread - test.estimate!.difference);
  return (outside && (sure || clear)) || (sure && margin !== null && moved > margin);
}

/** Whether the difference of the spreads lies within what the rms leaves open, or a fifth of what matters beside it. */
function reaches({ estimate }: CellTest, difference: number, margin: number | null, settings: Settings): boolean {
  const ci95 = estimate === null ? null : differenceInterval(estimate, settings.interval_level);
  if (ci95 === null) return false;
  const slack = 0.2 * (margin ?? 0);
  return difference > ci95[0] - slack && difference < ci95[1] + slack;
}

/** Between the blocks' mean biases, of either configuration by itself, the largest step; null where no configuration has two blocks. */
function blockStep(columns: ReturnType<typeof columnsOf>): number | null {
  const { count, mean } = groupSums(columns);
  const steps = [0, 1].flatMap((side) => {
    const own = [...mean].filter((_, group) => group % 2 === side && count[group]! > 0);
    return own.length < 2 ? [] : [Math.max(...own) - Math.min(...own)];
  });
  return steps.length === 0 ? null : Math.max(...steps);
}

function meanOf(values: Float64Array): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}
