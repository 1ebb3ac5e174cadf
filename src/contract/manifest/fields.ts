import * as z from "zod";
import { likelyName } from "../../foundation/nearest.ts";
import { Complaint } from "./problems.ts";
import { type Dimension, parseQuantity, phraseOf, quantityPattern } from "./quantity.ts";
import { describeFound } from "./textTree.ts";

/**
 * A zod schema from a function that converts one value or throws a `Complaint`.
 *
 * @param shape  what it looks like to JSON Schema, which cannot ask the function
 */
export function field<T>(convert: (found: unknown) => T, shape: Readonly<Record<string, unknown>>) {
  // optional to zod, so that `convert` is called, and says what is missing, where the key is not there at all
  return z
    .unknown()
    .optional()
    .transform((found, context): T => {
      try {
        return convert(found);
      } catch (error) {
        if (!(error instanceof Complaint)) throw error;
        const { message, hint, missing } = error;
        context.addIssue({ code: "custom", message, params: { hint, missing } });
        return z.NEVER;
      }
    })
    .meta(shape);
}

/** As `schema`, but null where nothing is written. */
export function optional<S extends z.ZodType>(schema: S) {
  return z.preprocess((found) => found ?? undefined, schema.optional()).transform((value) => value ?? null);
}

/** As `schema`, but `fallback` where nothing is written. */
export function withDefault<S extends z.ZodType>(schema: S, fallback: z.output<S>) {
  return optional(schema).transform((value) => (value ?? fallback) as z.output<S>);
}

export function quantity(dimension: Dimension, sign: "any" | "positive" | "not-negative" = "any") {
  return field((found) => parseQuantity(found, dimension, { sign }), {
    type: "string",
    pattern: quantityPattern,
    unit: phraseOf(dimension),
  });
}

/** A share above 0 %, such as "5 %". */
export function share(expected: string) {
  return field((found): number => {
    const match = typeof found === "string" ? /^\+?(\d+\.?\d*|\.\d+)\s*%$/.exec(found.trim()) : null;
    const value = match === null ? Number.NaN : Number(match[1]) / 100;
    if (value > 0 && value <= 1) return value;
    const missing = found === undefined || found === null;
    throw new Complaint(`found ${describeFound(found)}, expected ${expected}`, {
      hint: "write it in per cent",
      missing,
    });
  }, sharePattern);
}
export const sharePattern = {
  type: "string",
  pattern: "^\\s*\\+?(\\d+\\.?\\d*|\\.\\d+)\\s*%\\s*$",
  unit: "a share such as 5 %",
};

/** Text of 1 to 1000 characters, without control characters but line ends and tabs. */
export function text(expected: string) {
  return field((found) => parseText(found, expected), { type: ["string", "number", "boolean"], minLength: 1 });
}

export function parseText(found: unknown, expected: string): string {
  const message = `found ${describeFound(found)}, expected ${expected}`;
  if (found === undefined || found === null) throw new Complaint(message, { missing: true });
  if (typeof found !== "string") throw new Complaint(message, { hint: "write one text" });
  const trimmed = found.trim();
  if (trimmed === "") throw new Complaint(message, { hint: "fill it in or leave the key out" });
  if (trimmed.length > 1000) throw new Complaint(message, { hint: "keep it under 1000 characters" });
  // biome-ignore lint/suspicious/noControlCharactersInRegex: they are what is looked for
  if (/[\u0000-\u0008\u000b-\u001f\u007f]/.test(trimmed)) {
    throw new Complaint(`found a control character in ${describeFound(found)}, expected ${expected}`, {
      hint: "take it out",
    });
  }
  return trimmed;
}

/** One of a closed list of words. */
export function choice<const T extends string>(words: readonly T[], what: string) {
  return field(
    (found): T => {
      const word = words.find((known) => known === found);
      if (word !== undefined) return word;
      const near = typeof found === "string" ? likelyName(found, words) : null;
      throw new Complaint(`found ${describeFound(found)}, expected ${what}: ${listed(words)}`, {
        hint: near === null ? null : `did you mean ${near}?`,
        missing: found === undefined || found === null,
      });
    },
    { enum: words },
  );
}

/** A pure count: a bare whole number from 1. */
export function count(what: string, most = 100_000) {
  return field(
    (found): number => {
      const expected = `found ${describeFound(found)}, expected ${what}, a whole number from 1 to ${most}`;
      if (found === undefined || found === null) throw new Complaint(expected, { missing: true });
      if (typeof found !== "string" || !/^\+?\d{1,9}$/.test(found)) {
        throw new Complaint(expected, { hint: "a count has no unit, sign or decimals" });
      }
      const value = Number(found);
      if (value < 1 || value > most) throw new Complaint(expected);
      return value;
    },
    { type: "integer", minimum: 1, maximum: most },
  );
}

/** A number without a unit, such as -1.07. */
export function pureNumber(what: string) {
  return field(
    (found): number => {
      const isNumber = typeof found === "string" && /^[+-]?(\d+\.?\d*|\.\d+)$/.test(found.trim());
      if (isNumber) return Number(found);
      throw new Complaint(`found ${describeFound(found)}, expected ${what}, a number without a unit`, {
        hint: "such as -1.07",
        missing: found === undefined || found === null,
      });
    },
    { type: "number" },
  );
}

/** A list; `what` in the plural. */
export function list<S extends z.ZodType>(schema: S, what: string) {
  return z.array(schema, { error: (issue) => `found ${describeFound(issue.input)}, expected a list of ${what}` });
}

/** Three quantities x, y, z (or roll, pitch, yaw). */
export function triple(dimension: Dimension, what: string) {
  const one = quantity(dimension);
  return z.tuple([one, one, one], {
    error: (issue) => `found ${describeFound(issue.input)}, expected ${what}`,
  });
}

/** Known keys travel to the reading in the message of zod's `unrecognized_keys` issue, separated by spaces. */
export function mapping<S extends z.ZodRawShape>(shape: S, what: string) {
  const keys = Object.keys(shape);
  return z.strictObject(shape, {
    error: (issue) =>
      issue.code === "unrecognized_keys"
        ? keys.join(" ")
        : `found ${describeFound(issue.input)}, expected ${what}: a mapping with the keys ${listed(keys)}`,
  });
}

/** "a, b or c" */
export function listed(words: readonly string[], limit = 20): string {
  if (words.length > limit) return `${words.slice(0, limit).join(", ")} and ${words.length - limit} more`;
  if (words.length < 2) return words.join("");
  return `${words.slice(0, -1).join(", ")} or ${words[words.length - 1]}`;
}
