import type { CampaignEvaluation } from "../contract/evaluation.ts";
import { fixed, noValue } from "./text/numberText.ts";
import type { Spread } from "./text/spread.ts";

/** What a reader must know of a table of tracking errors, and why some of its numbers are missing. */
export function trackingRemarks(
  evaluation: CampaignEvaluation,
  table: {
    readonly trajectory: string;
    readonly subject: "vehicle" | "effector";
    readonly window: "cycles" | "hold";
    readonly blocks: readonly { readonly used: number; readonly runs: number; readonly delay: Spread | null }[];
  },
): string[] {
  const { trajectory, subject, window, blocks } = table;
  const { noise, settings } = evaluation;
  const flown = blocks.filter(({ runs }) => runs > 0);
  const cycles = settings.common_cycles[trajectory] ?? null;
  const seconds = settings.common_hold[trajectory] ?? null;
  const without = blocks.reduce((sum, { used, runs }) => sum + used - runs, 0);
  const remarks: string[] = [];
  if (window === "cycles" && cycles !== null) remarks.push(`Range over the ${cycles} cycles that all used runs have.`);
  if (window === "hold" && seconds !== null)
    remarks.push(`Range over the ${fixed(seconds, 1)} s that all used runs have.`);
  if (without > 0)
    remarks.push(`${without} used ${without === 1 ? "run has" : "runs have"} no ${subject} error in this window.`);
  if (noise === null || noise[subject] === null)
    remarks.push(`Noise floor of the ${subject} n/a: neither static captures nor the flights gave one.`);
  else if (noise.source === "in flight")
    remarks.push("Noise floor estimated in flight, from what is faster than the vehicle can move: no static capture.");
  const residual = largestResidual(evaluation, trajectory, subject);
  if (residual !== null)
    remarks.push(
      `The ${subject} was solved from markers; they fit their declared places to ${fixed(1e3 * residual, 2)} mm (largest of the runs), a measure of a marker's noise.`,
    );
  if (flown.some(({ delay }) => delay === null))
    remarks.push("Response delay n/a: the command moves too little, or two delays fit nearly alike.");
  if (flown.some(({ runs }) => runs === 1)) remarks.push(`± ${noValue}: one run has no spread between runs.`);
  remarks.push(`${noValue}: range is per axis, the norm has none.`);
  return remarks;
}

/** Residual of the body's fit to its markers, metres: the largest of the trajectory's used runs; null where none was solved. */
function largestResidual(
  { runs }: CampaignEvaluation,
  trajectory: string,
  subject: "vehicle" | "effector",
): number | null {
  const found = runs
    .filter((run) => run.used && run.trajectory === trajectory)
    .flatMap(({ markers }) => markers?.[subject]?.residual ?? []);
  return found.length === 0 ? null : Math.max(...found);
}
