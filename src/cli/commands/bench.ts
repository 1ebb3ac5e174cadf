import { dirname, join } from "node:path";
import { benchOfManifest, withBench } from "../../pipeline/bench/writeBench.ts";
import { evaluateCampaign } from "../../pipeline/evaluateCampaign.ts";
import { sideBySide } from "../../pipeline/runPool.ts";
import { evaluationJson, writeEvaluation } from "../../pipeline/writeEvaluation.ts";
import { benchText } from "../../report/benchText.ts";
import { plainText, textFrame } from "../../report/text/layout.ts";
import { type CommandInput, manifestPath, type Terminal } from "../Command.ts";
import { progressLine } from "../readArguments.ts";

/**
 * `counterpoise bench MANIFEST`: evaluates the bench, writes it into evaluation.json beside the manifest and prints it. Flights
 * that were evaluated there are kept; where there is no evaluation yet, the whole is made, and its look counted as ever.
 *
 * @returns 0, or 1 where `--strict` was given and some run or the bench was unusable
 * @throws ArgumentError  no manifest in the folder
 * @throws ManifestError  the manifest is at fault, or has no bench
 */
export async function bench({ flags, operands }: CommandInput, terminal: Terminal): Promise<number> {
  const manifest = manifestPath(operands[0]!);
  const path = join(dirname(manifest), "evaluation.json");
  const progress = progressLine(terminal, { quiet: flags.has("json") });
  try {
    const made = await benchOfManifest(manifest, {
      onProgress: ({ done, total, run }) => progress.show(`${done} of ${total} bench runs: ${run}`),
    });
    const { bench: found, title, labels } = made;
    const kept = await withBench(path, made, manifest);
    if (kept !== null) await writeEvaluation(kept, path);
    const whole =
      kept ??
      (await evaluateCampaign(manifest, {
        measureRuns: sideBySide,
        write: (evaluation) => writeEvaluation(evaluation, path),
      }));
    progress.clear();
    if (flags.has("json")) terminal.out(evaluationJson(whole));
    else {
      const { width, colour } = terminal;
      terminal.out(benchText(found, { title, ...labels }, textFrame({ width, colour })));
      terminal.out(`Written: ${plainText(path)}${kept === null ? "" : ", its flights kept as they stand there"}\n`);
    }
    const unusable =
      found.checks.some(({ severity }) => severity === "unusable") ||
      found.runs.some(({ checks }) => checks.some(({ severity }) => severity === "unusable"));
    return flags.has("strict") && unusable ? 1 : 0;
  } finally {
    progress.clear();
  }
}
