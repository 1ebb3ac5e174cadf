import type * as z from "zod";
import { CounterpoiseError } from "../src/foundation/errors.ts";

type Issue = z.core.$ZodIssue;

/**
 * A part of a request, read by its schema.
 *
 * @param code  which part: `bad-query`, `bad-address` or `bad-body`
 * @throws CounterpoiseError  that code, with the first thing wrong: what was found and what was expected
 */
export function readRequest<S extends z.ZodType>(
  schema: S,
  found: unknown,
  code: "bad-query" | "bad-address" | "bad-body",
): z.output<S> {
  const result = schema.safeParse(found);
  if (result.success) return result.data;
  const issue = result.error.issues[0]!;
  const place = issue.path.join(".");
  const what = `found ${describe(valueAt(found, issue.path))}, expected ${expectedOf(issue)}`;
  throw new CounterpoiseError(code, place === "" ? what : `${place}: ${what}`, { place: place === "" ? null : place });
}

function valueAt(found: unknown, path: readonly PropertyKey[]): unknown {
  return path.reduce<unknown>(
    (value, key) =>
      typeof value === "object" && value !== null && Object.hasOwn(value, key)
        ? (value as Record<PropertyKey, unknown>)[key]
        : undefined,
    found,
  );
}

const longest = 60;

function describe(value: unknown): string {
  if (value === undefined) return "nothing";
  const text = JSON.stringify(value);
  return text.length > longest ? `${text.slice(0, longest)}... (${text.length} characters)` : text;
}

function expectedOf(issue: Issue): string {
  switch (issue.code) {
    case "invalid_type":
      return `${/^[aeio]/.test(issue.expected) ? "an" : "a"} ${issue.expected}`;
    case "invalid_value":
      return `one of ${issue.values.map(String).join(", ")}`;
    case "unrecognized_keys":
      return `no key ${issue.keys.map((key) => JSON.stringify(key)).join(", ")}`;
    case "too_small":
      return issue.message.startsWith("expected ")
        ? issue.message.slice("expected ".length)
        : `at least ${issue.minimum}${issue.origin === "string" ? " characters" : ""}`;
    case "too_big":
      return `at most ${issue.maximum}${issue.origin === "string" ? " characters" : ""}`;
    default:
      return issue.message.replace(/^.*expected /, "");
  }
}
