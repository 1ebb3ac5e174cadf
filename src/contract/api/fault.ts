import * as z from "zod";

/** What is wrong, what was expected, where, and what to do next. `code` is stable; the words are for a person. */
export const faultSchema = z.strictObject({
  code: z.string(),
  message: z.string(),
  place: z.string().optional(),
  hint: z.string().optional(),
});
export type Fault = z.infer<typeof faultSchema>;

/** The body of every answer that is no success. */
export const faultAnswerSchema = z.strictObject({ error: faultSchema });
export type FaultAnswer = z.infer<typeof faultAnswerSchema>;
