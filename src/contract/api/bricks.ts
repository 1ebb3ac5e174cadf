import * as z from "zod";

/** Bricks of the API's schemas. Every number is finite; what is not known is null. SI throughout, as in evaluation.json. */

export const number = z.number();
export const nullable = z.number().nullable();
export const interval = z.tuple([number, number]);
export const numbers = z.array(number);
export const nullables = z.array(nullable);
export const perAxis = <T extends z.ZodType>(value: T) => z.strictObject({ x: value, y: value, z: value });
/** the axes and the length of the vector */
export const perAxisAndNorm = <T extends z.ZodType>(value: T) =>
  z.strictObject({ x: value, y: value, z: value, norm: value });

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
