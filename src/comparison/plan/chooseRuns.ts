import type { Campaign } from "../../contract/campaign.ts";
import type { RunEvaluation } from "../../contract/evaluation.ts";
import type { Settings } from "../../contract/settings.ts";
import { axisWord } from "../../words/places.ts";
import { leastAttainable } from "./detectableDifference.ts";
import { type FlownCell, spreadOverBlocks } from "./flownCell.ts";

/** How many runs and blocks a plan is for, and why. */
export interface RunsChoice {
  /** flown before or not */
  readonly runsPerConfiguration: number;
  /** of these still to be flown */
  readonly toFly: number;
  /** fewest used runs of a configuration in a cell */
  readonly flown: number;
  readonly blocks: number;
  readonly because: string;
}

interface Grounds {
  readonly campaign: Campaign;
  readonly used: readonly RunEvaluation[];
  readonly family: readonly FlownCell[];
  readonly wish: { readonly runsToFly?: number; readonly blocks?: number; readonly trajectories?: readonly string[] };
  readonly settings: Settings;
}

/**
 * Runs per configuration, where a person does not say: the fewest that suffice in every open cell of the family (within the
 * noise, or too few runs) to show either the smallest difference or that there is none, whichever takes fewer, at the spread
 * flown. Never fewer than a verdict takes, nor than the permutation p could fall below its level with; at most
 * `plan_most_runs` more than were flown. What was flown counts, so that only the rest is to be flown, 2 at least. Where
 * nothing is open: as many as were flown, all of them again.
 *
 * Blocks: as many as were flown, at least `plan_least_blocks`, at most the runs.
 */
export function chooseRuns(grounds: Grounds): RunsChoice {
  const { wish, settings } = grounds;
  const wantedBlocks = wish.blocks ?? Math.max(settings.plan_least_blocks, blocksFlown(grounds));
  const flown = fewestFlown(grounds);
  const chosen = (runs: number, toFly: number, because: string): RunsChoice => ({
    runsPerConfiguration: runs,
    toFly,
    flown,
    blocks: Math.min(toFly, wantedBlocks),
    because,
  });
  if (wish.runsToFly !== undefined) {
    return chosen(flown + wish.runsToFly, wish.runsToFly, "as many as were asked for");
  }
  const least = leastRuns(wantedBlocks, grounds);
  // what was flown once can be flown again, as long as a day holds it
  const dayHolds = Math.floor(settings.plan_most_flights / (2 * Math.max(1, trajectoriesOf(grounds))));
  const mostNew = Math.min(dayHolds, settings.plan_most_runs);
  const { runs, because, again } = wantedRuns(grounds, flown + mostNew);
  if (again) {
    const repeated = Math.max(least, Math.min(runs, dayHolds));
    return chosen(repeated, repeated, because);
  }
  const rest = (total: number): number => Math.max(fewestToFly, wish.blocks ?? 0, total - flown);
  const most = Math.max(least, flown + mostNew);
  if (runs > most) return chosen(most, rest(most), `${because}; a plan adds at most ${mostNew}`);
  if (runs >= least) return chosen(runs, rest(runs), because);
  const blocks = Math.min(least, wantedBlocks);
  const fewest = `${least} is the fewest in ${blocks === 1 ? "1 block" : `${blocks} blocks`} with which a rearrangement of the labels could give a p below ${settings.permutation_level}`;
  return chosen(least, rest(least), because === "" ? fewest : `${because}; ${fewest}`);
}

/** a block of one flight each could not be distinguished from its day */
const fewestToFly = 2;

/** Fewest used runs of a configuration in a cell of the family; 0 where there is no cell. */
function fewestFlown({ family }: Grounds): number {
  const counts = family.map(({ described: { flown } }) => Math.min(flown.baseline, flown.candidate));
  return counts.length === 0 ? 0 : Math.min(...counts);
}

/** Blocks in which the judged pair was flown; runs without a block share one. */
function blocksFlown({ campaign, used }: Grounds): number {
  const pair = [campaign.baseline, campaign.candidate];
  return new Set(used.filter(({ configuration }) => pair.includes(configuration)).map(({ block }) => block)).size;
}

function trajectoriesOf({ campaign, wish }: Grounds): number {
  return (wish.trajectories ?? Object.keys(campaign.trajectories)).length;
}

function leastRuns(blocks: number, { wish, settings }: Grounds): number {
  let runs = Math.max(settings.least_runs, wish.blocks ?? 2);
  while (leastAttainable(spreadOverBlocks(runs, Math.min(runs, blocks))).leastP >= settings.permutation_level) runs++;
  return runs;
}

/** As many as the cells ask for, whatever a plan may hold; `again` where they are what was flown. */
function wantedRuns(
  { family, settings }: Grounds,
  mostTotal: number,
): { runs: number; because: string; again: boolean } {
  if (family.length === 0) return { runs: 0, because: "no cell carries a verdict", again: false };
  const flown = Math.max(...family.map(({ described: { flown: n } }) => Math.max(n.baseline, n.candidate)));
  const open = family.filter(({ described: { verdict } }) => !decided.has(verdict ?? ""));
  if (open.length === 0) {
    const doubted = family.some(({ described: { verdict } }) => verdict === "doubted");
    const because = doubted
      ? `what is not answered is doubted: mend that first, then as many as were flown (${flown}), a repetition`
      : `every cell has its answer: as many as were flown (${flown}), a repetition`;
    return { runs: flown, because, again: true };
  }
  const needs = open
    .map((cell) => ({ cell, runs: runsToSettle(cell) }))
    .filter((need): need is { cell: FlownCell; runs: number } => need.runs !== null)
    .sort((a, b) => b.runs - a.runs);
  const unsaid = open.length - needs.length;
  if (needs.length === 0) return { runs: flown, because: whyUnknown(open, family), again: true };
  const most = needs[0]!;
  const power = `${Math.round(settings.power * 100)} %`;
  const beyond = needs.filter(({ runs }) => runs > mostTotal);
  const answer = `show either the smallest difference that matters or that there is none, with ${power} power at the spread flown`;
  const because =
    beyond.length > 0
      ? `to ${answer}, ${listed(beyond)} would need ${beyond.length === 1 ? "that many" : "these numbers"} in all`
      : `the fewest that ${answer}, in every open cell: ${nameOf(most.cell)} needs ${count(most.runs)}`;
  const rest =
    unsaid === 0 ? "" : `; of ${unsaid} more open ${unsaid === 1 ? "cell" : "cells"} ${whyUnknownShort(open)}`;
  return { runs: most.runs, because: `${because}${rest}`, again: false };
}

/** What more flights would not settle: answered, or doubted for a finding that flights of the same set-up repeat. */
const decided: ReadonlySet<string> = new Set(["steadier", "less steady", "no difference that matters", "doubted"]);

/** Whichever answer takes fewer runs; null where the spread or the smallest difference is not known. */
function runsToSettle({ needed: { runs_for_difference, runs_for_equivalence } }: FlownCell): number | null {
  if (runs_for_difference === null || runs_for_equivalence === null) return null;
  return Math.min(runs_for_difference.middle, runs_for_equivalence.middle);
}

function whyUnknown(open: readonly FlownCell[], family: readonly FlownCell[]): string {
  const declared = open.some(({ described }) => described.smallest_difference !== null);
  const anyFlown = family.some(({ values }) => values.length > 0);
  if (!anyFlown && !declared) {
    return "neither a smallest difference nor a run is there: nothing says how far runs spread, or how little matters";
  }
  if (!anyFlown) return "no run is there to show how far runs spread: see what plausible spreads would take";
  if (!declared)
    return "no smallest difference is declared, so nothing says how many runs suffice: as many as were flown";
  return "no run repeats another, so how far runs spread is not known: see what plausible spreads would take";
}

function whyUnknownShort(open: readonly FlownCell[]): string {
  const spreadless = open.some(({ spread }) => spread === null);
  return spreadless ? "the spread is not known yet" : "no smallest difference is declared";
}

/** "orbit, effector along x (21)", the three that need most. */
function listed(needs: readonly { cell: FlownCell; runs: number }[]): string {
  const shown = needs.slice(0, 3).map(({ cell, runs }) => `${nameOf(cell)} (${count(runs)})`);
  const more = needs.length - shown.length;
  if (more > 0) shown.push(`${more} more`);
  return shown.length === 1 ? shown[0]! : `${shown.slice(0, -1).join(", ")} and ${shown.at(-1)}`;
}

function nameOf({ described: { trajectory, subject, axis }, judgedIn }: FlownCell): string {
  return `${trajectory} ${subject} ${axisWord(axis, judgedIn)}`;
}

function count(runs: number): string {
  return runs > 1e6 ? "more than a million" : String(runs);
}
