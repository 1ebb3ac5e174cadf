import { checkCampaign } from "../../pipeline/checkCampaign.ts";
import { sideBySide } from "../../pipeline/runPool.ts";
import { checkText } from "../../report/checkText.ts";
import { type CommandInput, manifestPath, type Terminal } from "../Command.ts";
import { progressLine } from "../readArguments.ts";

/** What the command stands on. Tests pass their own. */
export interface CheckJourneys {
  readonly checkCampaign: typeof checkCampaign;
}

/**
 * `counterpoise check MANIFEST`: everything that an evaluation rests on, without the answer. Writes no file.
 *
 * @returns 0; 1 where no run can be used, or where `--strict` was given and some run was unusable
 * @throws ArgumentError  no manifest in the folder
 * @throws ManifestError  the manifest is at fault
 */
export async function check(
  { flags, operands }: CommandInput,
  terminal: Terminal,
  journeys: CheckJourneys = { checkCampaign },
): Promise<number> {
  const manifest = manifestPath(operands[0]!);
  const progress = progressLine(terminal, { quiet: flags.has("json") });
  try {
    const { check: found } = await journeys.checkCampaign(manifest, {
      measureRuns: sideBySide,
      onProgress: ({ done, total, run, stage }) =>
        progress.show(`${done} of ${total} runs: ${run === "" ? "" : `${run}, `}${stage}`),
    });
    progress.clear();
    const { width, colour } = terminal;
    if (flags.has("json")) terminal.out(`${JSON.stringify(found, null, 1)}\n`);
    else terminal.out(checkText(found, { width, colour, notes: flags.has("notes"), manifest: operands[0]! }));
    const unusable = found.runs.some(({ checks }) => checks.some(({ severity }) => severity === "unusable"));
    return !found.runs.some(({ used }) => used) || (flags.has("strict") && unusable) ? 1 : 0;
  } finally {
    progress.clear();
  }
}
