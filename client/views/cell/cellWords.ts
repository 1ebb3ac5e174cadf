import type { MeasureUnit } from "../../../src/catalogue/measures.ts";
import type { CellAnswer } from "../../../src/contract/api/cellAnswers.ts";
import type { Cell } from "../../../src/contract/cell.ts";
import { inShown, joinWords, percentPieces, unitName } from "../../../src/words/amounts.ts";
import { constantWords } from "../../../src/words/findingWords.ts";
import { measureLabel } from "../../../src/words/places.ts";
import {
  amount,
  countText,
  fixed,
  intervalText,
  probabilityText,
  probabilityValue,
  signedAmount,
  sizeText,
  typeset,
} from "../../app/words.ts";

/** What the words about a cell need beside it. */
export interface CellLabels {
  readonly baseline: string;
  readonly candidate: string;
  /** cells of the family */
  readonly family: number;
  /** of differences, and of the runs' values and means, in the unit read */
  readonly decimals: number;
  readonly runDecimals: number;
  /** probability of a false alarm over the family, and of an error in equivalence */
  readonly familyError: number;
  readonly equivalenceError: number;
}

/**
 * What was measured, in a sentence.
 *
 * @example "The mean rms error is 18.1 mm with “Counterweights fitted” (4 runs) and 20.5 mm with “Arm alone” (5 runs): ..."
 */
export function measuredText(cell: Cell, { baseline, candidate, decimals, runDecimals }: CellLabels): string {
  const { difference, ci95, method } = cell;
  const metric = measureLabel(cell.metric);
  const sides = [[candidate, cell.candidate] as const, [baseline, cell.baseline] as const];
  const had = sides.flatMap(([label, { mean, n }]) =>
    mean === null
      ? []
      : [`${amount(mean, cell.unit, runDecimals)} ${unitName(cell.unit)} with “${label}” (${countText(n, "run")})`],
  );
  const without = sides.flatMap(([label, { mean }]) =>
    mean === null ? [`There is no run with “${label}” that counts and has this measure.`] : [],
  );
  const means = [...(had.length === 0 ? [] : [`The mean ${metric} is ${had.join(" and ")}.`]), ...without].join(" ");
  if (difference === null) return `${means} So there is no difference to show.`;
  const within =
    method === "blocked" ? " Compared within blocks, so that what shifts from block to block does not count." : "";
  const interval =
    ci95 === null ? "" : `, 95 % interval ${intervalText(ci95, cell.unit, decimals)} ${unitName(cell.unit)}`;
  const pieces = percentPieces(cell);
  const share = pieces.length === 0 ? "" : `, ${pieces.join(" ").replaceAll("-", "−")}`;
  return `${means} Difference: ${signedAmount(difference, cell.unit, decimals)} ${unitName(cell.unit)}${interval}${share}.${within}`;
}

/** Why the verdict is what it is: the steps in the order in which they are taken. */
export function verdictText(cell: Cell, { family, familyError }: CellLabels): string {
  const { verdict, p_family: p } = cell;
  const among = p === null ? "" : `${probabilityText(p)} among the ${family} cells of the family (Holm)`;
  switch (verdict) {
    case "doubted":
      return `Findings about the set-up could have made this difference (${cell.doubts.join(", ")}), so nothing is claimed until they are settled.`;
    case null:
      return "This cell is exploratory: it carries no verdict, and nothing is to be concluded from it alone.";
    case "steadier":
    case "less steady":
      return `Called “${verdict}” because ${among} is below ${familyError}, so it stands even though ${family} cells were looked at.`;
    case "no difference that matters":
      return `Called “${verdict}” because the 90 % interval lies inside the smallest difference that matters.`;
    case "within the noise":
      return `Called “${verdict}”: ${among === "" ? "p cannot be computed" : `${among} is not below ${familyError}`}, and the 90 % interval does not lie inside the smallest difference. That is an open question, not an absent effect.`;
    case "too few runs":
      return `Called “${verdict}”: ${cell.baseline.n} v ${cell.candidate.n} runs, and a verdict needs at least three of each.`;
    case "no spread":
      return `Called “${verdict}”: the runs do not differ at all among themselves, which measured flights always do. Look whether the same log, or the same stretch of one, was filed for several runs.`;
  }
}

/** What the two one-sided tests say, in words and numbers. */
export function equivalenceText(cell: Cell, { decimals, equivalenceError }: CellLabels): string {
  const { ci90, smallest_difference: smallest, p_equivalence: p } = cell;
  if (smallest === null) return "No smallest difference is declared, so nothing can be called too small to matter.";
  if (ci90 === null) return "There are too few runs for the 90 % interval that this takes.";
  const band = `±${sizeText(smallest, cell.unit)}`;
  const inside = ci90[0] > -smallest && ci90[1] < smallest;
  const outside = ci90[1] < -smallest || ci90[0] > smallest;
  const plainly = inside ? `lies inside ${band}` : outside ? `lies wholly outside ${band}` : `reaches beyond ${band}`;
  // an exploratory cell is one of many that no family holds together: it is described, nothing is concluded
  if (!cell.in_family) {
    return `The 90 % interval ${intervalText(ci90, cell.unit, apart(ci90, smallest, cell.unit, decimals))} ${unitName(cell.unit)} ${plainly}.`;
  }
  const said = inside
    ? `lies inside ${band}: whatever the true difference is, it is too small to matter`
    : outside
      ? `lies wholly outside ${band}: this cell by itself is not too small to matter`
      : `reaches beyond ${band}: a difference that matters is not ruled out`;
  const tested =
    p === null || outside
      ? ""
      : ` (${probabilityText(p)}; it errs in at most ${Math.round(equivalenceError * 100)} of 100 cells)`;
  return `The 90 % interval ${intervalText(ci90, cell.unit, apart(ci90, smallest, cell.unit, decimals))} ${unitName(cell.unit)} ${said}${tested}.`;
}

/** Decimals in which no end of the interval reads as if it lay on the limit or on its other side; at most micrometres. */
function apart(interval: readonly [number, number], limit: number, unit: MeasureUnit, least: number): number {
  const reads = (value: number, decimals: number): number => Number(inShown(value, unit).toFixed(decimals));
  const clear = (decimals: number): boolean =>
    interval.every((end) => {
      const bound = Math.sign(end) * inShown(limit, unit);
      return Math.sign(reads(end, decimals) - bound) === Math.sign(inShown(end, unit) - bound);
    });
  return [least, least + 1, least + 2].find((decimals) => decimals >= 3 || clear(decimals)) ?? 3;
}

/** A share of the mean square that is not worth a word. */
const leastShare = 0.01;

/**
 * What the mean errors of the runs have in common, and what is left of the difference about it; none where the measure knows of no
 * constant offset.
 */
export function constantTexts({ constant, unit }: Cell, { decimals }: CellLabels): string[] {
  if (constant === null) return [];
  const { share, role, step, step_ci95: ci95, block_step: block, synchronous } = constant;
  const length = (metres: number): string => `${signedAmount(metres, unit, decimals)} ${unitName(unit)}`;
  const isSaid = role === null || role === "drowns";
  const texts = [
    role === null && share < leastShare
      ? "The runs have no offset in common that is more than chance: what the rms shows is spread."
      : `${sentence(typeset(constantWords(constant, role ?? "carries")))}${isSaid ? "" : ` A constant offset carries ${percent(share)} of the mean square.`}`,
  ];
  if (ci95 !== null)
    texts.push(
      `The mean error steps by ${length(step)} with the configuration, 95 % interval ${intervalText(ci95, unit, decimals)} ${unitName(unit)}.`,
    );
  if (block !== null)
    texts.push(`Between blocks the mean error steps by up to ${length(Math.abs(block)).replace("+", "")}.`);
  if (synchronous !== null) {
    const p = synchronous.p === null ? "" : ` (${probabilityText(synchronous.p)})`;
    texts.push(
      `No offset enters the part that is in step with the arm: it differs by ${length(synchronous.difference)}${p}.`,
    );
  }
  return texts;
}

/** What would change the verdict, one sentence each: single runs, exclusions, and how near the limits are. */
export function flipTexts({ cell, leave_one_out: without, all_runs: all }: CellAnswer, labels: CellLabels): string[] {
  const { verdict, p_family: p } = cell;
  if (verdict === null) return ["There is no verdict to change: this cell is exploratory."];
  if (verdict === "doubted")
    return [
      `The findings ${joinWords(cell.doubts)}: mend the set-up, or take them as they are with \`accept\` in the manifest, with the reason.`,
    ];
  if (verdict === "too few runs") return ["More runs: at least three of each configuration that count."];
  if (verdict === "no spread") return ["Runs that are flights of their own: these do not differ at all."];
  const texts: string[] = [];
  const others = new Map<string, string[]>();
  for (const { run, verdict: other } of without) {
    if (other !== null && other !== verdict) others.set(other, [...(others.get(other) ?? []), run]);
  }
  for (const [other, runs] of others) {
    const any = runs.length > 1 ? "any one of " : "";
    const then = other === "too few runs" ? "there would be too few runs for a verdict" : `it would be “${other}”`;
    texts.push(`Without ${any}${joinWords(runs)} ${then}.`);
  }
  if (others.size === 0 && without.length > 0) {
    texts.push(`No single run decides it: without any one of the ${without.length} runs it stays “${verdict}”.`);
  }
  // what is not about single runs: those stand above, run by run
  texts.push(
    ...cell.fragile
      .filter((reason) => !reason.startsWith("without ") && !reason.startsWith("with the runs put back"))
      .map((reason) => sentence(typeset(reason))),
  );
  if (all !== null && all.verdict !== null) {
    texts.push(
      all.verdict === verdict
        ? `With the runs put back that a person excluded it stays “${verdict}”.`
        : `With the runs put back that a person excluded it would be “${all.verdict}”.`,
    );
  }
  if (p !== null && verdict !== "no difference that matters") {
    const claim = verdict !== "within the noise";
    texts.push(
      claim
        ? `It is no longer a claim where p among the family reaches ${labels.familyError}; it is ${probabilityValue(p)}.`
        : `It becomes a claim where p among the family falls below ${labels.familyError}; it is ${probabilityValue(p)}.`,
    );
  }
  return texts;
}

/** How many runs would settle the cell; "" where that cannot be said. */
export function runsNeededText({
  runs_needed: needed,
  baseline,
  candidate,
  smallest_difference: smallest,
  unit,
}: Cell): string {
  if (needed === null || smallest === null) return "";
  return `About ${countText(needed.middle, "run")} per configuration in all (${needed.low} to ${needed.high}, since the scatter itself is known from few runs) for an 80 % chance of a verdict, if the true change is the smallest difference, ${sizeText(smallest, unit)}. Used: ${baseline.n} v ${candidate.n}.`;
}

/** What the permutation test says, in words and numbers. */
export function permutationText(permutation: NonNullable<CellAnswer["permutation"]>): string {
  const { arrangements, exact, p, p_least: least, extreme } = permutation;
  const counted = extreme.reduce((sum, count) => sum + count, 0);
  const all = exact
    ? `all ${arrangements} ways to assign these labels to these runs (within blocks)`
    : `a seeded sample of ${arrangements} ways to assign these labels to these runs (within blocks)`;
  const best =
    least === null
      ? ""
      : ` The smallest p these runs could give is ${probabilityValue(least).replace("< ", "below ")}.`;
  return `Of ${all}, ${counted} ${counted === 1 ? "gives" : "give"} a difference at least as far from 0 as the one flown (dark): ${probabilityText(p)}, free of any assumption about the scatter's shape.${best}`;
}

function percent(share: number): string {
  return `${fixed(100 * share, 0)} %`;
}

function sentence(text: string): string {
  return `${text.charAt(0).toUpperCase()}${text.slice(1)}${text.endsWith(".") ? "" : "."}`;
}
