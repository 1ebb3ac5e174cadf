import { type CampaignEvaluation, evaluationSchema, evaluationSchemaNumber } from "../../contract/evaluation.ts";
import { ArgumentError } from "../../foundation/errors.ts";
import { diskEffects, type Effects } from "../../pipeline/effects.ts";
import { changedText } from "../../report/changedText.ts";
import { textFrame } from "../../report/text/layout.ts";
import type { CommandInput, Terminal } from "../Command.ts";

/** An evaluation larger than this is none, bytes: 1 000 runs take some 50 MB. */
const largest = 512 * 1024 * 1024;

/**
 * `counterpoise diff BEFORE AFTER`: what differs between two files that `evaluate` wrote, and how far each cell moved. Reads
 * nothing but the two, writes nothing, counts no look: both answers were seen.
 *
 * @returns 0, whether something differs or not
 * @throws ArgumentError  code `not-an-evaluation`: a file cannot be read, is none, or was written by another version's schema
 */
export async function diff(
  { operands }: CommandInput,
  terminal: Terminal,
  effects: Pick<Effects, "size" | "readText"> = diskEffects,
): Promise<number> {
  const [before, after] = operands;
  if (after === undefined)
    throw new ArgumentError("missing-operand", "found one file, expected two evaluations: BEFORE and AFTER", {
      hint: "counterpoise diff before.json evaluation.json",
    });
  const one = await readEvaluation(before!, effects);
  const other = await readEvaluation(after, effects);
  terminal.out(`${changedText(one, other, textFrame(terminal)).join("\n")}\n`);
  return 0;
}

/** An evaluation as `evaluate` wrote it. @throws ArgumentError  code `not-an-evaluation` */
export async function readEvaluation(
  path: string,
  effects: Pick<Effects, "size" | "readText">,
): Promise<CampaignEvaluation> {
  const refuse = (message: string, hint = "give two files that `counterpoise evaluate` wrote"): never => {
    throw new ArgumentError("not-an-evaluation", message, { place: path, hint });
  };
  const size = await effects.size(path);
  if (size === null) return refuse("found no such file, expected an evaluation.json");
  if (size > largest) return refuse(`found ${size} bytes, expected an evaluation.json`);
  let found: unknown;
  try {
    found = JSON.parse(await effects.readText(path));
  } catch (cause) {
    const why = cause instanceof Error ? cause.message : String(cause);
    return refuse(`found no JSON text (${why}), expected an evaluation.json`);
  }
  const number = typeof found === "object" && found !== null && "schema" in found ? found.schema : undefined;
  if (number !== evaluationSchemaNumber)
    return refuse(
      `found ${number === undefined ? "no schema number" : `schema ${JSON.stringify(number)}`}, expected schema ${evaluationSchemaNumber}`,
      number === undefined ? undefined : "evaluate the campaign again with this version",
    );
  const result = evaluationSchema.safeParse(found);
  if (result.success) return result.data;
  const { path: at, message } = result.error.issues[0]!;
  return refuse(
    `found another form at ${at.join(".")} (${message}), expected that of this version`,
    "the file was edited, or written by another version: evaluate the campaign again",
  );
}
