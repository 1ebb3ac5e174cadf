import * as z from "zod";
import { faultSchema } from "./fault.ts";

/**
 * What the service is doing. It travels with `GET /api/campaign`, and as the data of every `state` event of
 * `GET /api/progress`. A client that sees `version` grow fetches again.
 */
export const serviceStateSchema = z.strictObject({
  status: z.enum(["evaluating", "ready", "failed"]),
  /** it checks, and no answer is shown; false from the first evaluation on */
  blind: z.boolean(),
  /** while evaluating; null otherwise */
  progress: z.strictObject({ done: z.int(), total: z.int(), run: z.string(), stage: z.string() }).nullable(),
  /** why the last evaluation failed; the last good one is served meanwhile. null where it did not */
  error: faultSchema.nullable(),
  /** how many evaluations have succeeded since the service started; 0: there is none to serve yet */
  version: z.int(),
  /** ISO 8601, when the evaluation that is served was finished; null where there is none */
  evaluated_at: z.string().nullable(),
  /** true where manifest, exclusions or logs are no longer those the served evaluation was made from */
  stale: z.boolean(),
  /** the files that changed since, as the manifest names them */
  changed: z.array(z.string()),
  /** how often the verdicts were looked at (evaluation.looks.count); null where there is no evaluation yet */
  looks: z.int().nullable(),
});
export type ServiceState = z.infer<typeof serviceStateSchema>;
