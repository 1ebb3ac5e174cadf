import * as z from "zod";
import { answerKinds } from "../manifest/openQuestions.ts";
import { faultSchema } from "./bricks.ts";
import { decisionSchema } from "./runAnswers.ts";

/** The longest reason; a reason is a sentence, not a report. */
const longestReason = 500;

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

/** Keys and list indices, from the root of the manifest. */
const path = z
  .array(z.union([z.string().max(1000), z.int().nonnegative()]))
  .min(1)
  .max(40);
/** what a manifest's text may hold in one line */
const line = z
  .string()
  .trim()
  .min(1, "expected words")
  .max(500)
  // biome-ignore lint/suspicious/noControlCharactersInRegex: they are what is looked for
  .regex(/^[^\u0000-\u001f\u007f\u2028\u2029]*$/, "expected one line without control characters");

/** `GET /api/questions`: what the manifest leaves open, in the order of the file. */
export const questionsAnswerSchema = z.strictObject({
  /** file name of the manifest, without its folder */
  manifest: z.string(),
  /** of the text in which they are open: goes with the answers */
  stamp: z.string(),
  questions: z.array(
    z.strictObject({
      path,
      placeholder: z.string(),
      /** in the manifest, from 1 */
      line: z.int(),
      /** what the draft says beside it */
      remark: z.string(),
      kind: z.enum(answerKinds),
      choices: z.array(z.string()),
      /** what the draft says of each choice */
      details: z.array(z.string()),
    }),
  ),
});
export type QuestionsAnswer = z.infer<typeof questionsAnswerSchema>;
export type Question = QuestionsAnswer["questions"][number];

/**
 * `POST /api/questions`: answers some of them, in the words of the manifest. All are written or none; the answer (202) is what is
 * open then, and the service reads the manifest again.
 */
export const answersRequestSchema = z.strictObject({
  stamp: z.string().max(100),
  answers: z
    .array(z.strictObject({ path, answer: z.union([line, z.array(line).max(10_000)]) }))
    .min(1, "expected an answer")
    .max(1000),
});
export type AnswersRequest = z.infer<typeof answersRequestSchema>;

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
