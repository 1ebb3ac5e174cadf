import { type CellOutcome, evaluateSetUp, type Judged, outcomesOf } from "./outcome.ts";
import type { Remembered } from "./remembered.ts";
import type { WrongSetUp } from "./setUpTable.ts";
import { type Effect, type SetUp, type Step, soundCampaign } from "./soundCampaign.ts";
import { type Trial, trials, trueDifferences } from "./trueDifferences.ts";

/** What is said of one cell of one campaign that was set up wrongly. */
export interface Finding extends CellOutcome {
  readonly seed: number;
  readonly effect: Effect;
}

interface Proper {
  readonly judged: Judged;
  readonly runs: Remembered;
}

const proper = new Map<string, Promise<Proper>>();

/** The campaign set up as it should be, judged once. */
export function properOf(trial: Trial, seed: number, effect: Effect): Promise<Proper> {
  const key = `${trial} ${seed} ${effect}`;
  if (!proper.has(key)) proper.set(key, judgeProper(trial, seed, effect));
  return proper.get(key)!;
}

async function judgeProper(trial: Trial, seed: number, effect: Effect): Promise<Proper> {
  const runs: Remembered = new Map();
  // the baseline flies the same with either effect
  const known = effect === "none" ? (await proper.get(`${trial} ${seed} known`))?.runs : undefined;
  const judged = await evaluateSetUp(done(trials[trial].steps, seed, effect), known, runs);
  if (typeof judged === "string") throw new Error(judged);
  return { judged, runs };
}

const done = (steps: readonly Step[], seed: number, effect: Effect): SetUp =>
  steps.reduce((setUp, step) => step(setUp), soundCampaign(seed, effect));

/** A campaign: the seed of its flights, and whether the weights do something. */
export type Campaign = readonly [seed: number, effect: Effect];

/** The campaigns, set up wrongly; nothing of one that is refused. */
export async function judgeRow({ trial, steps }: WrongSetUp, campaigns: readonly Campaign[]): Promise<Finding[]> {
  const findings: Finding[] = [];
  let found: Remembered = new Map();
  let before: number | null = null;
  for (const [seed, effect] of campaigns) {
    // the baseline of a seed flies the same with either effect
    if (seed !== before) found = new Map();
    before = seed;
    const sound = await properOf(trial, seed, effect);
    const judged = await evaluateSetUp(done(steps, seed, effect), sound.runs, found);
    if (typeof judged !== "string") {
      const outcomes = outcomesOf(judged, trueDifferences(trial, effect), sound.judged);
      findings.push(...outcomes.map((outcome) => ({ ...outcome, seed, effect })));
    }
  }
  return findings;
}
