import type { CheckCode } from "../../../src/foundation/checks.ts";
import { runsOfLab } from "../cleanLab.ts";
import { evaluateSetUp } from "../wrongSetUps/outcome.ts";
import { type Step, soundCampaign } from "../wrongSetUps/soundCampaign.ts";
import { detectionFlight, type SizedFault } from "./sizedFaults.ts";

export interface Found {
  /** runs that carry the fault; those in which its check is a doubt, or makes them unusable; those in which any does */
  readonly runs: number;
  readonly byIt: number;
  readonly byAny: number;
}

/** Campaigns of eight flights with an effect, each with the fault in the runs that are to carry it. */
export async function countFound(
  { check, where = () => true }: SizedFault,
  steps: readonly Step[],
  campaigns: number,
): Promise<Found> {
  const found = { runs: 0, byIt: 0, byAny: 0 };
  for (let seed = 101; seed <= 100 + campaigns; seed++) {
    const setUp = steps.reduce((before, step) => step(before), soundCampaign(seed, "known", detectionFlight));
    const judged = await evaluateSetUp(setUp);
    if (typeof judged === "string") throw new Error(judged);
    for (const { filed } of setUp.runs.filter(where)) {
      const { checks } = judged.runs.find(({ id }) => id === filed.id)!;
      const speaking = checks.filter(({ severity }) => severity !== "note");
      found.runs++;
      if (speaking.some(({ code }) => code === check)) found.byIt++;
      if (speaking.length > 0) found.byAny++;
    }
  }
  return found;
}

export interface FalseAlarms {
  readonly runs: number;
  readonly byCode: ReadonlyMap<CheckCode, number>;
}

/** Runs of labs in which nothing is wrong, and in how many of them each check is a doubt or more. */
export async function countFalseAlarms(labs: number): Promise<FalseAlarms> {
  const byCode = new Map<CheckCode, number>();
  let runs = 0;
  for (let seed = 1; seed <= labs; seed++)
    for (const { checks } of await runsOfLab(seed)) {
      runs++;
      const codes = new Set(checks.filter(({ severity }) => severity !== "note").map(({ code }) => code));
      for (const code of codes) byCode.set(code, (byCode.get(code) ?? 0) + 1);
    }
  return { runs, byCode };
}
