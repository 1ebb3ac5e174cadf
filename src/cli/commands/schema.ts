import { jsonSchemaOf, type SchemaName, schemaNames } from "../../contract/jsonSchemas.ts";
import { ArgumentError } from "../../foundation/errors.ts";
import { likelyName } from "../../foundation/nearest.ts";
import type { CommandInput, Terminal } from "../Command.ts";

/**
 * `counterpoise schema manifest | evaluation | runs`: prints the JSON Schema of a file, for editors and for programs in other
 * languages.
 *
 * @throws ArgumentError  code `unknown-schema`: there is none of that name
 */
export async function schema({ operands }: CommandInput, terminal: Terminal): Promise<number> {
  const [name] = operands;
  const known = schemaNames.find((each): each is SchemaName => each === name);
  if (known === undefined) {
    const near = likelyName(name!, schemaNames);
    throw new ArgumentError("unknown-schema", `found ${name}, expected one of ${schemaNames.join(", ")}`, {
      hint: near === null ? "counterpoise schema manifest" : `did you mean ${near}?`,
    });
  }
  terminal.out(`${JSON.stringify(jsonSchemaOf(known), null, 1)}\n`);
  return 0;
}
