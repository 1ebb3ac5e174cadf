import { evaluateCampaign } from "../../pipeline/evaluateCampaign.ts";
import { evaluationJson, writeEvaluation } from "../../pipeline/writeEvaluation.ts";
import { briefText } from "../../report/briefText.ts";
import { evaluationText } from "../../report/evaluationText.ts";
import { textFrame } from "../../report/text/frame.ts";
import { plainText } from "../../report/text/plainText.ts";
import type { CommandInput } from "../Command.ts";
import { manifestPath } from "../manifestPath.ts";
import { outputPath } from "../outputPath.ts";
import { progressLine } from "../progressLine.ts";
import { sideBySide } from "../sideBySide.ts";
import type { Terminal } from "../Terminal.ts";

/** What the command stands on. Tests pass their own. */
export interface EvaluateJourneys {
  readonly evaluateCampaign: typeof evaluateCampaign;
  readonly writeEvaluation: typeof writeEvaluation;
}

/**
 * `counterpoise evaluate MANIFEST`: evaluates, writes the evaluation, then prints it.
 *
 * @returns 0, or 1 where `--strict` was given and some run was unusable
 * @throws ArgumentError  no manifest in the folder, or a place that must not be written
 * @throws ManifestError  the manifest is at fault
 * @throws CounterpoiseError  code `not-written`: the disk refused
 */
export async function evaluate(
  { flags, values, operands }: CommandInput,
  terminal: Terminal,
  journeys: EvaluateJourneys = { evaluateCampaign, writeEvaluation },
): Promise<number> {
  const manifest = manifestPath(operands[0]!);
  const wanted = values.get("out") ?? null;
  const path = wanted === "-" ? null : outputPath(manifest, wanted);
  const progress = progressLine(terminal, { quiet: flags.has("quiet") });
  try {
    const evaluation = await journeys.evaluateCampaign(manifest, {
      measureRuns: sideBySide,
      ...(path === null ? {} : { write: (evaluation) => journeys.writeEvaluation(evaluation, path) }),
      onProgress: ({ done, total, run, stage }) =>
        progress.show(`${done} of ${total} runs: ${run === "" ? "" : `${run}, `}${stage}`),
    });
    progress.clear();
    if (path === null || flags.has("json")) terminal.out(evaluationJson(evaluation));
    else if (!flags.has("quiet")) {
      const { width, colour } = terminal;
      const [notes, audit] = [flags.has("notes"), flags.has("audit")];
      const whole = flags.has("full") || notes || audit;
      terminal.out(
        whole
          ? evaluationText(evaluation, { width, colour, notes, audit })
          : briefText(evaluation, textFrame({ width, colour })),
      );
      terminal.out(`Written: ${plainText(path)}\n`);
    }
    const unusable = evaluation.runs.some(({ checks }) => checks.some(({ severity }) => severity === "unusable"));
    return flags.has("strict") && unusable ? 1 : 0;
  } finally {
    progress.clear();
  }
}
