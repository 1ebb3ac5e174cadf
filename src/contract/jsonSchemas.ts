import * as z from "zod";
import { evaluationSchema } from "./evaluation.ts";
import { manifestShape } from "./manifest/manifestShape.ts";
import { runShape } from "./manifest/runSchema.ts";

/** What `counterpoise schema` prints, for editors and for programs in other languages. */
export const schemaNames = ["manifest", "evaluation", "runs"] as const;
export type SchemaName = (typeof schemaNames)[number];
/** JSON Schema 2020-12; beside its own keywords `unit` says the unit of a number. */
export type JsonSchema = Readonly<Record<string, unknown>>;

/**
 * The JSON Schema of a file that the program reads or writes, from the schema by which it does so.
 *
 * A manifest is checked by more than a schema can say (names that refer to each other, one of two keys): what the schema takes
 * may still be refused, with the line and the reason.
 */
export function jsonSchemaOf(name: SchemaName): JsonSchema {
  switch (name) {
    case "evaluation":
      return titled(
        "evaluation.json: what Counterpoise found of a campaign, SI throughout; what is not known is null",
        "output",
        evaluationSchema,
      );
    case "manifest":
      return flightsOrBench(
        titled(
          "campaign.yaml: the manifest of a campaign. Every quantity is text with its unit",
          "input",
          z.strictObject(manifestShape),
        ),
      );
    case "runs":
      return runsTable();
  }
}

/** What only flights need may be left out beside a bench. */
function flightsOrBench({ required, ...schema }: JsonSchema): JsonSchema {
  const flights = ["signals", "runs"];
  const all = required as readonly string[];
  return {
    ...schema,
    required: all.filter((key) => !flights.includes(key)),
    anyOf: [{ required: all.filter((key) => flights.includes(key)) }, { required: ["bench"] }],
  };
}

/** As a table writes runs: a row each, cells of text, `logs.NAME` and `span.NAME` for the logs of a run that has several. */
function runsTable(): JsonSchema {
  const { logs: _, log, span, ...rest } = runShape;
  const cell = (of: z.ZodType): Record<string, unknown> => ({ type: "string", description: of.description });
  const { items, ...table } = titled(
    "runs.csv: the table that `runs` of a manifest may name, one run a row; an empty cell says nothing",
    "input",
    z.array(z.strictObject(rest)),
  );
  const row = items as { properties: Record<string, unknown> };
  const properties = {
    log: { ...cell(log), description: `${log.description}, parted by ;` },
    ...row.properties,
    span: { ...cell(span), pattern: "\\.\\.", examples: ["30 s..95 s"] },
    span_start: { type: "string", description: "the start of the span, in a column of its own" },
    span_end: { type: "string", description: "its end" },
  };
  const patternProperties = {
    "^logs\\..": { type: "string", description: "the log of that name, of a run that has several" },
    "^span\\..": { type: "string", description: "the span in the log of that name" },
  };
  return { ...table, items: { ...row, properties, patternProperties } };
}

function titled(description: string, io: "input" | "output", schema: z.ZodType): JsonSchema {
  const written = z.toJSONSchema(schema, {
    target: "draft-2020-12",
    unrepresentable: "any",
    io,
    override: ({ zodSchema, jsonSchema }) => {
      if (io === "output") return;
      const { def } = zodSchema._zod;
      // what has to be there only the reading knows: it takes every value as text and says itself what is missing
      if (def.type === "object") {
        const shape = (def as z.core.$ZodObjectDef).shape;
        const required = Object.keys(shape).filter((key) => !z.safeParse(shape[key]!, undefined).success);
        if (required.length > 0) jsonSchema.required = required;
        else delete jsonSchema.required;
      }
      // editors show descriptions, not units
      if (jsonSchema.unit !== undefined && jsonSchema.description !== undefined)
        jsonSchema.description = `${jsonSchema.description}: ${String(jsonSchema.unit)}`;
    },
  });
  const { $schema, ...rest } = written;
  return { $schema, title: "Counterpoise", description, ...rest };
}
