import type { CampaignEvaluation } from "../../src/contract/evaluation.ts";
import type { Axis, Subject } from "../../src/foundation/signals.ts";

/** sd of the measurement noise of a subject on an axis, metres; of the arm both bodies' together. null where unknown. */
export function noiseOf({ noise }: Pick<CampaignEvaluation, "noise">, subject: Subject, axis: Axis): number | null {
  const vehicle = noise?.vehicle?.[axis] ?? null;
  const effector = noise?.effector?.[axis] ?? null;
  if (subject === "vehicle") return vehicle;
  if (subject === "effector") return effector;
  return vehicle === null || effector === null ? null : Math.hypot(vehicle, effector);
}
