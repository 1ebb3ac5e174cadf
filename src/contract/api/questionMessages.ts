import * as z from "zod";
import { answerKinds } from "../manifest/openQuestions.ts";

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
