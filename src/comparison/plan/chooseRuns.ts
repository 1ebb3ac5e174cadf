import type { Campaign } from "../../contract/campaign.ts";
import type { RunEvaluation } from "../../contract/evaluation.ts";
import type { Settings } from "../../contract/settings.ts";
import type { FlownCell } from "./flownCell.ts";
import { leastAttainable } from "./leastAttainable.ts";
import { spreadOverBlocks } from "./spreadOverBlocks.ts";

/** How many runs and blocks a plan is for, and why. */
export interface RunsChoice {
  readonly runsPerConfiguration: number;
  readonly blocks: number;
  readonly because: string;
}

interface Grounds {
  readonly campaign: Campaign;
  readonly used: readonly RunEvaluation[];
  readonly family: readonly FlownCell[];
  readonly wish: { readonly runsPerConfiguration?: number; readonly blocks?: number };
  readonly settings: Settings;
}

/**
 * Runs per configuration, where a person does not say: the fewest that suffice in every open cell of the family (within the
 * noise, or too few runs) to show either the smallest difference or that there is none, whichever takes fewer, at the spread
 * flown. Never fewer than a verdict takes, nor than the permutation p could fall below its level with; never more than
 * `plan_most_runs`. Where nothing is open: as many as were flown, a repetition.
 *
 * Blocks: as many as were flown, at least `plan_least_blocks`, at most the runs.
 */
export function chooseRuns(grounds: Grounds): RunsChoice {
  const { wish, settings } = grounds;
  const wantedBlocks = wish.blocks ?? Math.max(settings.plan_least_blocks, blocksFlown(grounds));
  const chosen = (runs: number, because: string): RunsChoice => ({
    runsPerConfiguration: runs,
    blocks: Math.min(runs, wantedBlocks),
    because,
  });
  if (wish.runsPerConfiguration !== undefined) return chosen(wish.runsPerConfiguration, "as many as were asked for");
  const least = leastRuns(wantedBlocks, grounds);
  const most = Math.max(least, settings.plan_most_runs);
  const { runs, because } = wantedRuns(grounds);
  if (runs > most) return chosen(most, `${because}; a plan goes up to ${most}`);
  if (runs >= least) return chosen(runs, because);
  const blocks = Math.min(least, wantedBlocks);
  const fewest = `${least} is the fewest in ${blocks === 1 ? "1 block" : `${blocks} blocks`} with which a rearrangement of the labels could give a p below ${settings.permutation_level}`;
  return chosen(least, because === "" ? fewest : `${because}; ${fewest}`);
}

/** Blocks in which the judged pair was flown; runs without a block share one. */
function blocksFlown({ campaign, used }: Grounds): number {
  const pair = [campaign.baseline, campaign.candidate];
  return new Set(used.filter(({ configuration }) => pair.includes(configuration)).map(({ block }) => block)).size;
}

function leastRuns(blocks: number, { wish, settings }: Grounds): number {
  let runs = Math.max(settings.least_runs, wish.blocks ?? 2);
  while (leastAttainable(spreadOverBlocks(runs, Math.min(runs, blocks))).leastP >= settings.permutation_level) runs++;
  return runs;
}

/** As many as the cells ask for, whatever a plan may hold. */
function wantedRuns({ family, settings }: Grounds): { runs: number; because: string } {
  const flown = Math.max(0, ...family.map(({ described: { flown: n } }) => Math.max(n.baseline, n.candidate)));
  const open = family.filter(({ described: { verdict } }) => !decided.has(verdict ?? ""));
  if (open.length === 0) {
    const why = family.length === 0 ? "no cell carries a verdict" : "every cell has its answer";
    return { runs: flown, because: `${why}: as many as were flown (${flown}), a repetition` };
  }
  const needs = open
    .map((cell) => ({ cell, runs: runsToSettle(cell) }))
    .filter((need): need is { cell: FlownCell; runs: number } => need.runs !== null)
    .sort((a, b) => b.runs - a.runs);
  const unsaid = open.length - needs.length;
  if (needs.length === 0) return { runs: flown, because: whyUnknown(open, family) };
  const most = needs[0]!;
  const power = `${Math.round(settings.power * 100)} %`;
  const beyond = needs.filter(({ runs }) => runs > settings.plan_most_runs);
  const answer = `show either the smallest difference that matters or that there is none, with ${power} power at the spread flown`;
  const because =
    beyond.length > 0
      ? `to ${answer}, ${listed(beyond)} would need ${beyond.length === 1 ? "that many" : "these numbers"} in all`
      : `the fewest that ${answer}, in every open cell: ${nameOf(most.cell)} needs ${count(most.runs)}`;
  const rest =
    unsaid === 0 ? "" : `; of ${unsaid} more open ${unsaid === 1 ? "cell" : "cells"} ${whyUnknownShort(open)}`;
  return { runs: most.runs, because: `${because}${rest}` };
}

const decided: ReadonlySet<string> = new Set(["steadier", "less steady", "no difference that matters"]);

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

function nameOf({ described: { trajectory, subject, axis } }: FlownCell): string {
  return `${trajectory} ${subject} ${axis}`;
}

function count(runs: number): string {
  return runs > 1e6 ? "more than a million" : String(runs);
}
