import { type CellOutcome, evaluateSetUp, type Judged, outcomesOf } from "./outcome.ts";
import type { Remembered } from "./remembered.ts";
import type { WrongSetUp } from "./setUpTable.ts";
import { type Effect, effects, type SetUp, type Step, soundCampaign } from "./soundCampaign.ts";
import { type Trial, trials, trueDifferences } from "./trueDifferences.ts";

/** What is told of one cell of one campaign that was set up wrongly. */
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
  const known = effect === "none" ? (await properOf(trial, seed, "known")).runs : undefined;
  const judged = await evaluateSetUp(done(trials[trial].steps, seed, effect), known, runs);
  if (typeof judged === "string") throw new Error(judged);
  return { judged, runs };
}

const done = (steps: readonly Step[], seed: number, effect: Effect): SetUp =>
  steps.reduce((setUp, step) => step(setUp), soundCampaign(seed, effect));

/** Both campaigns of a seed, set up wrongly; empty where that is refused. */
export async function judgeRow({ trial, steps }: WrongSetUp, seed: number): Promise<Finding[]> {
  const findings: Finding[] = [];
  const found: Remembered = new Map();
  for (const effect of effects) {
    const sound = await properOf(trial, seed, effect);
    const judged = await evaluateSetUp(done(steps, seed, effect), sound.runs, found);
    if (typeof judged !== "string") {
      const outcomes = outcomesOf(judged, trueDifferences(trial, effect), sound.judged);
      findings.push(...outcomes.map((outcome) => ({ ...outcome, seed, effect })));
    }
  }
  return findings;
}
