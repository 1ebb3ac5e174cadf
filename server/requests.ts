import type { Response } from "express";
import type * as z from "zod";
import type { Fault } from "../src/contract/api/bricks.ts";
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

/** Sends an answer that fits its schema. */
export type Reply = <S extends z.ZodType>(response: Response, schema: S, value: z.input<S>, status?: number) => void;

/**
 * @param options.validate  check every answer against its schema before it is sent
 * @throws CounterpoiseError  code `answer-invalid`: a fault of the tool
 */
export function createReply({ validate }: { validate: boolean }): Reply {
  return (response, schema, value, status = 200) => {
    if (validate) {
      const result = schema.safeParse(value);
      if (!result.success) {
        const first = result.error.issues[0]!;
        throw new CounterpoiseError(
          "answer-invalid",
          `the answer breaks its own schema at ${first.path.join(".")}: ${first.message}`,
          { hint: "this is a fault of the tool: please report it with the manifest" },
        );
      }
    }
    response.status(status).json(value);
  };
}

/** A fault of the tool as a client may see it; the stack stays here. */
const ownFault = "a fault of the tool";

/** An error as the API tells it: code, message, place, hint; never a stack. */
export function faultOf(error: unknown): Fault {
  if (error instanceof CounterpoiseError) {
    const { code, message, place, hint } = error;
    return { code, message, ...(place === null ? {} : { place }), ...(hint === null ? {} : { hint }) };
  }
  const said = error instanceof Error ? `${error.name}: ${error.message}` : "something that is no error was thrown";
  return {
    code: "internal",
    message: `${ownFault}: ${said.split("\n")[0]}`,
    hint: "please report it with the manifest; COUNTERPOISE_DEBUG=1 shows where it happened",
  };
}
