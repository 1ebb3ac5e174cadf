import * as z from "zod";

/**
 * Schema of a column of finite numbers. One check for the column: a schema for each of its numbers, of which an evaluation has
 * tens of thousands, would take longer than the statistics that they come from.
 */
export const numberColumn = z.custom<number[]>((value) => Array.isArray(value) && wrongPlace(value) < 0, {
  error: ({ input }) => {
    if (!Array.isArray(input)) return `found ${inWords(input)}, expected an array of numbers`;
    const at = wrongPlace(input);
    return `found ${inWords(input[at])} at index ${at}, expected a finite number`;
  },
});

function inWords(value: unknown): string {
  if (Array.isArray(value)) return "an array";
  if (typeof value === "object" && value !== null) return "an object";
  return typeof value === "string" ? JSON.stringify(value) : String(value);
}

/** Index of the first value that is no finite number; -1 where there is none. */
function wrongPlace(values: readonly unknown[]): number {
  for (let i = 0; i < values.length; i++) if (!Number.isFinite(values[i])) return i;
  return -1;
}
