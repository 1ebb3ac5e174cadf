import * as z from "zod";

/**
 * Numbers of evaluation.json by their unit, which its JSON Schema and the manual's data dictionary print beside what `describe`
 * says of them. A unit is part of the schema, so that no number can be added without one.
 */
const measured = (unit: string) => z.number().meta({ unit });

export const metres = measured("m");
export const squareMetres = measured("m^2");
export const seconds = measured("s");
export const metresASecond = measured("m/s");
export const radians = measured("rad");
export const squareRadians = measured("rad^2");
export const hertz = measured("Hz");
export const kilograms = measured("kg");
export const squareKilograms = measured("kg^2");
/** of a counterweight: mass times distance */
export const moments = measured("kg m");
/** shares, ratios, probabilities, and figures of statistics */
export const plain = measured("1");
/** in the unit that stands beside it under `unit` */
export const byUnit = measured("as `unit` says");
/** in the unit of the campaign's primary measure */
export const asPrimary = measured("that of the primary measure");
/** how many of something */
export const counted = z.int().meta({ unit: "1" });

/** Two ends, the lower first. */
export const interval = <T extends z.ZodType>(of: T) => z.tuple([of, of]);
export const perAxis = <T extends z.ZodType>(value: T) => z.strictObject({ x: value, y: value, z: value });
