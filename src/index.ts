/**
 * The library: what another program may import from `counterpoise`. Everything else may change without notice.
 *
 *   import { evaluateCampaign, evaluationSchema } from "counterpoise";
 *   const evaluation = await evaluateCampaign("campaign.yaml", { look: false });
 *
 * Figures are SI throughout. `evaluateCampaign` notes a look beside the manifest unless `look: false`.
 */

export { type CampaignEvaluation, evaluationSchema } from "./contract/evaluation.ts";
export type { LogInspection } from "./contract/inspection.ts";
export { type FlightDay, flightDaySchema, type Plan, planSchema } from "./contract/plan.ts";
export { CounterpoiseError, LogError, ManifestError } from "./foundation/errors.ts";
export { evaluateCampaign } from "./pipeline/evaluateCampaign.ts";
export { inspectLog } from "./pipeline/inspectLog.ts";
export { planFlights } from "./pipeline/planFlights.ts";
