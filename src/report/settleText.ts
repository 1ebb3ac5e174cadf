import type { Cell } from "../contract/cell.ts";
import type { CampaignEvaluation } from "../contract/evaluation.ts";
import { subjects } from "../foundation/tracks.ts";
import { joinWords } from "../words/amounts.ts";
import { axisNamesOf, placeWords } from "../words/places.ts";
import { trajectoriesOf } from "./cellPlaces.ts";
import { countsText, enteringRuns, familyCells, hasStrays, isOpen, leastRuns, type RunCounts } from "./runGroups.ts";
import { smallestText } from "./smallestText.ts";
import { type TextFrame, wrapText } from "./text/layout.ts";
import { shortName } from "./text/nameText.ts";
import { sizeRange } from "./text/numbers.ts";

/** with more trajectories than this the others are summed up in one line */
const mostTrajectories = 6;
/** with more open cells than this in a trajectory only the least and the most hungry are named */
const mostCells = 3;

/** more runs than this nobody flies */
const mostRuns = 999;

/** Shown wherever more flights are advised. */
export const flyingCaution =
  "Before you fly: props off for bench work, a netted or tethered arena with an exclusion zone, a tested kill switch, care with batteries, counterweights mechanically retained and the vehicle weighed again after each change, first hover low with the arm parked.";

/** Said once wherever more flights are advised. */
const onlyPlanned =
  "Flying on until a verdict comes counts as looks, and each look more makes a false alarm likelier: decide beforehand how many to fly.";

/**
 * What it would take to settle what is open: runs per configuration for each open cell of the family, said per trajectory,
 * since one flight serves all cells of its trajectory; what to declare where the smallest difference is missing; and what
 * two single flights differ by.
 *
 * @returns lines of at most `frame.width` columns; none where there is no family
 */
export function settleText(evaluation: CampaignEvaluation, { width, style }: TextFrame): string[] {
  const family = familyCells(evaluation);
  if (family.length === 0) return [];
  const open = family.filter(isOpen);
  const needs = open.filter((cell) => cell.runs_needed !== null);
  const fragile = family.filter((cell) => cell.fragile.length > 0).length;
  const toFly = open.length > 0 || fragile > 0;
  const lines = [
    ...doubtedLine(family),
    ...(open.length === 0 ? settledLine(family, fragile) : trajectoryLines(open, evaluation)),
    ...(needs.length === 0 ? [] : [assumptions(evaluation, family)]),
    ...(toFly && evaluation.looks.paid === undefined ? [onlyPlanned] : []),
    ...missingLine(family),
    ...pairLimits(family),
    ...(toFly ? [flyingCaution] : []),
  ];
  return [
    style.heading("What it would take to settle what is open"),
    ...lines.flatMap((line) => wrapText(line, width, { first: "", rest: "  " })),
  ];
}

/** More flights settle no finding about the set-up: flown with the same fault they repeat it. */
function doubtedLine(family: readonly Cell[]): string[] {
  const doubted = family.filter(({ verdict }) => verdict === "doubted");
  if (doubted.length === 0) return [];
  const codes = joinWords([...new Set(doubted.flatMap(({ doubts }) => doubts))]);
  return [
    `Before any flight: ${doubted.length === 1 ? "1 cell is" : `${doubted.length} cells are`} doubted (${codes}). Mend the set-up, or take a finding as it is with \`accept\` in the manifest, with the reason; flights with the same fault would repeat it.`,
  ];
}

function settledLine(family: readonly Cell[], fragile: number): string[] {
  if (family.some(({ verdict }) => verdict === "doubted")) return [];
  const settled = "Every cell of the family has its verdict: none is open";
  if (fragile === 0) return [`${settled}.`];
  return [
    fragile === 1
      ? `${settled}; but 1 is fragile: fly more before you build on it.`
      : `${settled}; but ${fragile} are fragile: fly more before you build on them.`,
  ];
}

function trajectoryLines(open: readonly Cell[], evaluation: CampaignEvaluation): string[] {
  const names = trajectoriesOf(open);
  const groups = names.map((trajectory) => open.filter((cell) => cell.trajectory === trajectory));
  const shown = names.length > mostTrajectories ? mostTrajectories - 1 : names.length;
  const lines = groups.slice(0, shown).map((cells) => trajectoryLine(cells, evaluation));
  const rest = groups.slice(shown);
  if (rest.length > 0) {
    const most = Math.max(0, ...rest.flat().map((cell) => cell.runs_needed?.middle ?? 0));
    const needed = most === 0 ? "" : `: up to ${aboutText(most)} runs per configuration in all`;
    lines.push(`In ${rest.length} more trajectories ${rest.flat().length} cells are open${needed}.`);
  }
  return lines;
}

function trajectoryLine(cells: readonly Cell[], evaluation: CampaignEvaluation): string {
  const least = leastRuns(evaluation);
  const entering = (cell: Cell): RunCounts => enteringRuns(cell, evaluation);
  const known = cells.filter((cell) => cell.runs_needed !== null);
  const sorted = [...known].sort((a, b) => a.runs_needed!.middle - b.runs_needed!.middle);
  const few = cells.filter((cell) => cell.runs_needed === null && Math.min(...entering(cell)) < least);
  const parts: string[] = [];
  if (sorted.length > 0) parts.push(needsText(sorted, entering));
  if (few.length > 0)
    parts.push(
      `${placeText(few)}: at least ${least} runs per configuration for any verdict, five or more tell something`,
    );
  const silent = cells.length - known.length - few.length;
  if (silent > 0)
    parts.push(`${silent} ${silent === 1 ? "cell" : "cells"} for which the number of runs needed is not known`);
  const used = countsText(cells.map(({ baseline, candidate }) => [baseline.n, candidate.n]));
  const strays = cells.some((cell) => hasStrays(cell, evaluation))
    ? `, of which only ${countsText(cells.map(entering))} stand in blocks that hold both; fly both in every block`
    : "";
  return `In ${shortName(cells[0]!.trajectory)} (used ${used}${strays}): ${parts.join("; ")}.`;
}

/** "about 9 runs per configuration in all (6 to 21) for the vehicle along x, 12 (7 to 30) for the effector along z, to see 1.5 mm" */
function needsText(sorted: readonly Cell[], entering: (cell: Cell) => RunCounts): string {
  const some = sorted.length > mostCells ? [sorted[0]!, sorted.at(-1)!] : sorted;
  const stated = some.map((cell, index) => {
    const { low, middle, high } = cell.runs_needed!;
    const unit = index > 0 ? "" : ` run${middle === 1 ? "" : "s"} per configuration in all`;
    const remarks = [
      countText(low) === countText(high) ? "" : `${countText(low)} to ${countText(high)}`,
      Math.min(...entering(cell)) >= middle ? "as many as are used" : "",
    ].filter((remark) => remark !== "");
    const bracket = remarks.length === 0 ? "" : ` (${remarks.join(", ")})`;
    return `${aboutText(middle)}${unit}${bracket} for the ${placeWords(cell.subject, [cell.axis], cell.judged_in, axisNamesOf([cell]))}`;
  });
  const between = sorted.length - some.length;
  const others = between === 0 ? "" : ` (${between} more between them)`;
  const sized = sorted.filter((cell) => cell.smallest_difference !== null);
  const size = sized.length === 0 ? "" : `, to see ${smallestText(sized)}`;
  return `${joinWords(stated)}${others}${size}`;
}

function countText(runs: number): string {
  return runs > mostRuns ? `more than ${mostRuns}` : String(runs);
}

function aboutText(runs: number): string {
  return runs > mostRuns ? countText(runs) : `about ${runs}`;
}

function placeText(cells: readonly Cell[]): string {
  return cells.length > mostCells
    ? `${cells.length} cells`
    : joinWords(cells.map((cell) => placeWords(cell.subject, [cell.axis], cell.judged_in, axisNamesOf([cell]))));
}

function assumptions({ settings }: CampaignEvaluation, family: readonly Cell[]): string {
  const { power = 0.8, family_error: error = 0.05 } = settings.thresholds;
  return `Runs needed: for ${Math.round(power * 100)} % chance of a verdict if the true change is the smallest difference, at the hardest step of Holm (${error}/${family.length}), if later runs scatter as these do; in brackets what the uncertainty of the scatter allows.`;
}

function missingLine(family: readonly Cell[]): string[] {
  const missing = new Set(family.filter((cell) => cell.smallest_difference === null).map(({ subject }) => subject));
  if (missing.size === 0) return [];
  return [
    `No smallest difference is declared for the ${joinWords([...missing])}: neither "no difference that matters" nor the number of runs needed can be given. Declare the smallest change that would matter to your work, such as \`smallest_difference: 1.5 mm\` or \`{ vehicle: 2 mm, effector: 1 mm }\`, in the manifest; from the task, not from these results.`,
  ];
}

/** What chance alone does to a single pair of flights, in one sentence; none where the spread is too little known. */
function pairLimits(family: readonly Cell[]): string[] {
  const bySubject = subjects.flatMap((subject) => {
    const limits = family.flatMap((cell) => (cell.subject === subject && cell.pair !== null ? [cell.pair.limit] : []));
    return limits.length === 0 ? [] : [{ subject, limits }];
  });
  if (bySubject.length === 0) return [];
  const stated = bySubject.map(({ subject, limits }) => {
    const range = sizeRange(limits, { unit: family[0]!.unit });
    return `${range} (${subject}${range.includes(" to ") ? ", by trajectory and axis" : ""})`;
  });
  return [
    `Two flights of the same configuration and block differ by less than ${stated.join(" or ")} in 95 of 100 pairs by chance alone: a single pair of flights, one of each configuration, can show nothing smaller.`,
  ];
}
