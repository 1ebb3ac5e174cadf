import { canMove } from "../catalogue/checks.ts";
import type { Cell } from "../contract/cell.ts";
import type { CampaignEvaluation, RunCheck, RunEvaluation } from "../contract/evaluation.ts";
import { groupedFindings, isOpen } from "../words/groupedFindings.ts";
import { joinWords } from "../words/lists.ts";
import { placesText } from "./cellPlaces.ts";
import { allOf } from "./text/countText.ts";
import { shortName } from "./text/nameText.ts";
import { plainText } from "./text/plainText.ts";

/** with more findings than this the others are counted */
const mostFindings = 3;
/** with more runs than this the others are counted */
const mostRuns = 3;
/** a finding longer than this is cut in the answer; it stands whole beneath the board */
const longestFinding = 260;

/**
 * What the answer opens with where findings could have made a claim: where nothing is claimed because of them, what was found on
 * how many runs, and which keys of the manifest it points to.
 *
 * @param family  cells that carry a verdict
 * @returns none where no cell is doubted
 */
export function doubtSentences(evaluation: CampaignEvaluation, family: readonly Cell[]): string[] {
  const doubted = family.filter(({ verdict }) => verdict === "doubted");
  if (doubted.length === 0) return [];
  const where = doubted.length === family.length ? allOf(family.length, "cell", "cells") : placesText(doubted, family);
  const ids = new Set(doubted.flatMap(runsOf));
  const runs = evaluation.runs.filter(({ id }) => ids.has(id));
  const meant = (check: RunCheck, run: RunEvaluation): boolean =>
    doubted.some((cell) => runsOf(cell).includes(run.id) && isDoubtOf(cell, check, run));
  const findings = groupedFindings(
    runs.map((run) => ({ id: run.id, checks: run.checks.filter((check) => meant(check, run)) })),
    () => true,
  ).sort((a, b) => b.runs.length - a.runs.length);
  const more = findings.length - mostFindings;
  return [
    `Doubted, so nothing is claimed: ${where}.`,
    ...findings.slice(0, more > 0 ? mostFindings : undefined).map(({ code, message, hint, runs: own }) => {
      const keys = keysOf(hint);
      const look = keys.length === 0 ? "" : `; look at ${joinWords(keys)}`;
      return `Found on ${own.length} of ${runs.length} runs (${namesText(own)}): ${cut(plainText(message))} (${code}${look}).`;
    }),
    more > 0
      ? `There ${more === 1 ? "is 1 more such finding" : `are ${more} more such findings`}, listed with the runs.`
      : "",
  ].filter((sentence) => sentence !== "");
}

/** Whether a finding on a run is one of those that a cell is doubted for. */
export function isDoubtOf(cell: Cell, check: RunCheck, run: Pick<RunEvaluation, "tracking">): boolean {
  const window = run.tracking.cycles === null ? "hold" : "cycles";
  return (
    check.severity === "doubt" &&
    isOpen(check) &&
    cell.doubts.includes(check.code) &&
    canMove(check.touches, { ...cell, window })
  );
}

function runsOf({ baseline, candidate }: Cell): string[] {
  return [...baseline.runs, ...candidate.runs];
}

function namesText(runs: readonly string[]): string {
  const names = runs.slice(0, runs.length > mostRuns ? mostRuns - 1 : mostRuns).map(shortName);
  const rest = runs.length - names.length;
  return joinWords(rest === 0 ? names : [...names, `${rest} more`]);
}

function cut(text: string): string {
  return text.length <= longestFinding ? text : `${text.slice(0, longestFinding - 1).trimEnd()}…`;
}

/** Keys of the manifest that a hint names, as it names them: between backticks. */
function keysOf(hint: string): string[] {
  return [...new Set(hint.match(/`[^`]+`/g) ?? [])].slice(0, 4).map(plainText);
}
