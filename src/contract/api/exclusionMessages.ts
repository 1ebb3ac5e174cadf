import * as z from "zod";
import { decisionSchema } from "./runAnswers.ts";

/** The longest reason; a reason is a sentence, not a report. */
export const longestReason = 500;

const run = z.string().min(1).max(200);

/**
 * `POST /api/exclusions`: excludes a run, or with `include: true` puts back one that the manifest excludes. Kept in
 * exclusions.yaml beside the manifest. A second word on the same run replaces the first.
 */
export const decideRequestSchema = z.strictObject({
  run,
  include: z.boolean().default(false),
  /** in words: "arm jammed in cycle 4", not "yes" */
  reason: z.string().trim().min(1, "expected the reason in words").max(longestReason),
});
export type DecideRequest = z.infer<typeof decideRequestSchema>;

/** `DELETE /api/exclusions` (with a JSON body): takes the word back; the manifest's own then counts again. */
export const retractRequestSchema = z.strictObject({ run });

/** `GET /api/exclusions`, and the answer to both changes (202: the evaluation follows, see `GET /api/progress`). */
export const exclusionsAnswerSchema = z.strictObject({
  exclusions: z.array(decisionSchema.omit({ source: true }).extend({ run: z.string() })),
});
export type ExclusionsAnswer = z.infer<typeof exclusionsAnswerSchema>;
