import { canMove } from "../catalogue/checks.ts";
import type { Cell } from "../contract/cell.ts";
import type { CampaignEvaluation, RunCheck, RunEvaluation } from "../contract/evaluation.ts";
import type { CampaignCheck } from "../contract/look.ts";
import { joinWords } from "../words/amounts.ts";
import { groupedFindings, isOpen } from "../words/findingWords.ts";
import { placesText } from "./cellPlaces.ts";
import { nothingUsable } from "./noAnswer.ts";
import { isUnusable } from "./runGroups.ts";
import { plainText } from "./text/layout.ts";
import { shortName } from "./text/nameText.ts";
import { allOf, sizeRange } from "./text/numbers.ts";

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
function isDoubtOf(cell: Cell, check: RunCheck, run: Pick<RunEvaluation, "tracking">): boolean {
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

/** What a check says first, on the terminal and on the page: can this be evaluated, and what is hidden. */
export function checkSentences(check: CampaignCheck): string[] {
  const { runs, opened, named, settings, delays_apart: delays } = check;
  const letters = Object.keys(settings.configurations);
  return [
    usableSentence(check),
    `No difference between configurations is shown, and no look is counted: ${joinWords(letters)} stand for them in an order drawn from the logs, and no run says which it is of.`,
    ...(named.length === 0
      ? []
      : [
          `${named.length === runs.length ? "All runs" : `${named.length} of ${runs.length} runs`} bear the name of their configuration in their id or log (such as ${shortName(named[0]!)} of ${shortName(runs.find(({ id }) => id === named[0])?.log[0] ?? "")}): a person who reads them is not blind. Ids that say nothing can be given with \`id\`.`,
        ]),
    ...(delays.length === 0
      ? []
      : [
          `In ${joinWords(delays.map(shortName))} the response delays of the configurations differ by more than like runs scatter, and nothing confirms the clocks of all these runs: a clock that is off in some of them looks just like that. Log a gyro or an estimate in every run, and let \`same_motion\` find the offset.`,
        ]),
    ...(opened === null
      ? []
      : [
          `The answer of this campaign was first seen on ${opened.slice(0, 10)}: what is changed now is changed after that, and the audit of the evaluation says so.`,
        ]),
  ];
}

function usableSentence({ runs }: CampaignCheck): string {
  if (runs.length === 0) return "NOTHING CAN BE EVALUATED: no run is filed.";
  const used = runs.filter((run) => run.used).length;
  if (used === 0) {
    const why = runs.every(isUnusable) ? nothingUsable(runs) : "every run was left out.";
    return `NOTHING CAN BE EVALUATED: ${why}`;
  }
  const doubtful = runs.filter(
    (run) => run.used && run.checks.some((check) => check.severity === "doubt" && isOpen(check)),
  ).length;
  const all =
    used === runs.length ? `All ${runs.length} runs can be used` : `${used} of ${runs.length} runs can be used`;
  return `${all}, ${doubtful === 0 ? "none of them with doubts" : `${doubtful} of them with doubts`}.`;
}

/**
 * Where a constant offset carries most of an error whose verdict nobody doubts for it: the rms says little of steadiness there,
 * whatever it says. "" where there is none.
 *
 * @param family  cells that carry a verdict
 */
export function constantSentence({ settings }: CampaignEvaluation, family: readonly Cell[]): string {
  const least = settings.thresholds.constant_share ?? 0.5;
  const cells = family.filter(({ verdict, constant }) => verdict !== "doubted" && (constant?.share ?? 0) > least);
  if (cells.length === 0) return "";
  const offsets = cells.map(({ constant }) => Math.max(Math.abs(constant!.common), (constant!.block_step ?? 0) / 2));
  const subjects = new Set(cells.map(({ subject }) => subject));
  const frames = ["`frames: onboard`", ...(subjects.has("effector") ? ["`tool_point`", "`arm_base`"] : [])].join(", ");
  return `A constant offset (${sizeRange(offsets, { decimals: 1 })}) carries most of the error of ${placesText(cells, family)}, so the rms says little of steadiness there: look at ${frames}, or judge the spread (primary: sd).`;
}
