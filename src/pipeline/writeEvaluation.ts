import { type CampaignEvaluation, evaluationSchema } from "../contract/evaluation.ts";
import { CounterpoiseError } from "../foundation/errors.ts";
import { diskEffects, type Effects } from "./effects.ts";
import { writeWhole } from "./wholeText.ts";

/**
 * Validates an evaluation against its own schema and writes it whole or not at all.
 *
 * @throws CounterpoiseError  code `evaluation-invalid`: a fault of the tool, nothing was written; `not-written`: the disk refused
 */
export async function writeEvaluation(
  evaluation: CampaignEvaluation,
  path: string,
  effects: Effects = diskEffects,
): Promise<void> {
  const words = { what: "the evaluation", hint: "choose another place with --out" };
  await writeWhole(path, evaluationJson(evaluation), words, effects);
}

/** The text of evaluation.json, validated. */
export function evaluationJson(evaluation: CampaignEvaluation): string {
  const result = evaluationSchema.safeParse(evaluation);
  if (!result.success) {
    const first = result.error.issues[0]!;
    throw new CounterpoiseError(
      "evaluation-invalid",
      `the evaluation breaks its own schema at ${first.path.join(".")}: ${first.message}`,
      {
        hint: "this is a fault of the tool: please report it with the manifest",
      },
    );
  }
  return `${JSON.stringify(evaluation, null, 1)}\n`;
}
