import type { Cell } from "../contract/cell.ts";
import type { CampaignEvaluation } from "../contract/evaluation.ts";
import { trajectoriesOf } from "./cellPlaces.ts";
import { familyCells, isOpen, leastRuns } from "./familyCells.ts";
import { pairLimits } from "./pairLimits.ts";
import { smallestText } from "./smallestText.ts";
import type { TextFrame } from "./text/frame.ts";
import { joinWords } from "./text/joinWords.ts";
import { shortName } from "./text/nameText.ts";
import { wrapText } from "./text/wrapText.ts";

/** with more trajectories than this the others are summed up in one line */
const mostTrajectories = 6;
/** with more open cells than this in a trajectory only the least and the most hungry are named */
const mostCells = 3;

/** more runs than this nobody flies */
const mostRuns = 999;

/** Shown wherever more flights are advised. */
export const flyingCaution =
  "Before you fly: props off for bench work, a netted or tethered arena with an exclusion zone, a tested kill switch, care with batteries, counterweights mechanically retained and the vehicle weighed again after each change, first hover low with the arm parked.";

/**
 * What it would take to settle what is open: runs per configuration for each open cell of the family, told per trajectory,
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
  const trajectories = trajectoryLines(open, leastRuns(evaluation));
  const lines = [
    ...(open.length === 0 ? ["Every cell of the family has its verdict: none is open."] : trajectories),
    ...(needs.length === 0 ? [] : [assumptions(evaluation, family)]),
    ...missingLine(family),
    ...pairLimits(family),
    ...(open.length === 0 ? [] : [flyingCaution]),
  ];
  return [
    style.heading("What it would take to settle what is open"),
    ...lines.flatMap((line) => wrapText(line, width, { first: "", rest: "  " })),
  ];
}

function trajectoryLines(open: readonly Cell[], least: number): string[] {
  const names = trajectoriesOf(open);
  const groups = names.map((trajectory) => open.filter((cell) => cell.trajectory === trajectory));
  const shown = names.length > mostTrajectories ? mostTrajectories - 1 : names.length;
  const lines = groups.slice(0, shown).map((cells) => trajectoryLine(cells, least));
  const rest = groups.slice(shown);
  if (rest.length > 0) {
    const most = Math.max(0, ...rest.flat().map((cell) => cell.runs_needed?.middle ?? 0));
    const needed = most === 0 ? "" : `: up to about ${countText(most)} runs per configuration`;
    lines.push(`In ${rest.length} more trajectories ${rest.flat().length} cells are open${needed}.`);
  }
  return lines;
}

function trajectoryLine(cells: readonly Cell[], least: number): string {
  const known = cells.filter((cell) => cell.runs_needed !== null);
  const sorted = [...known].sort((a, b) => a.runs_needed!.middle - b.runs_needed!.middle);
  const few = cells.filter(
    (cell) => cell.runs_needed === null && (cell.baseline.n < least || cell.candidate.n < least),
  );
  const parts: string[] = [];
  if (sorted.length > 0) parts.push(needsText(sorted));
  if (few.length > 0)
    parts.push(
      `${placeText(few)}: at least ${least} runs per configuration for any verdict, five or more tell something`,
    );
  const silent = cells.length - known.length - few.length;
  if (silent > 0) parts.push(`${silent} ${silent === 1 ? "cell" : "cells"} for which the runs needed cannot be told`);
  return `In ${shortName(cells[0]!.trajectory)} (flown ${flownText(cells)}): ${parts.join("; ")}.`;
}

/** "about 9 runs per configuration (6 to 21) for the vehicle along x, 12 (7 to 30) for the effector along z, to see 1.5 mm" */
function needsText(sorted: readonly Cell[]): string {
  const some = sorted.length > mostCells ? [sorted[0]!, sorted.at(-1)!] : sorted;
  const told = some.map((cell, index) => {
    const { low, middle, high } = cell.runs_needed!;
    const flown = Math.min(cell.baseline.n, cell.candidate.n) >= middle ? ", as many as are flown" : "";
    const unit = index > 0 ? "" : ` run${middle === 1 ? "" : "s"} per configuration`;
    return `${middle > mostRuns ? "" : "about "}${countText(middle)}${unit} (${countText(low)} to ${countText(high)}${flown}) for the ${cell.subject} along ${cell.axis}`;
  });
  const between = sorted.length - some.length;
  const others = between === 0 ? "" : ` (${between} more between them)`;
  const sized = sorted.filter((cell) => cell.smallest_difference !== null);
  const size = sized.length === 0 ? "" : `, to see ${smallestText(sized)}`;
  return `${joinWords(told)}${others}${size}`;
}

function countText(runs: number): string {
  return runs > mostRuns ? `more than ${mostRuns}` : String(runs);
}

function placeText(cells: readonly Cell[]): string {
  return cells.length > mostCells
    ? `${cells.length} cells`
    : joinWords(cells.map(({ subject, axis }) => `${subject} along ${axis}`));
}

function flownText(cells: readonly Cell[]): string {
  const range = (side: "baseline" | "candidate"): string => {
    const counts = cells.map((cell) => cell[side].n);
    const [fewest, most] = [Math.min(...counts), Math.max(...counts)];
    return fewest === most ? `${most}` : `${fewest} to ${most}`;
  };
  return `${range("baseline")} v ${range("candidate")}`;
}

function assumptions({ settings }: CampaignEvaluation, family: readonly Cell[]): string {
  const { power = 0.8, family_error: error = 0.05 } = settings.thresholds;
  return `Runs needed: for ${Math.round(power * 100)} % chance of a verdict if the true change is the smallest difference, at the hardest step of Holm (${error}/${family.length}), if later runs scatter as these do; in brackets what the uncertainty of the scatter allows.`;
}

function missingLine(family: readonly Cell[]): string[] {
  const missing = new Set(family.filter((cell) => cell.smallest_difference === null).map(({ subject }) => subject));
  if (missing.size === 0) return [];
  return [
    `No smallest difference is declared for the ${joinWords([...missing])}: neither "no difference that matters" nor the runs needed can be had. Declare the smallest change that would matter to your work, such as \`smallest_difference: 1.5 mm\` or \`{ vehicle: 2 mm, effector: 1 mm }\`, in the manifest; from the task, not from these results.`,
  ];
}
