import type { Response } from "express";
import type * as z from "zod";
import { CounterpoiseError } from "../src/foundation/errors.ts";

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
