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
