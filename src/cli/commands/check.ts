import { checkCampaign } from "../../pipeline/checkCampaign.ts";
import { keptJourney } from "../../pipeline/kept/keptJourney.ts";
import { checkText } from "../../report/checkText.ts";
import { type CommandInput, keepingWish, manifestPath, type Terminal } from "../Command.ts";
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
  input: CommandInput,
  terminal: Terminal,
  journeys: CheckJourneys = { checkCampaign },
): Promise<number> {
  const { flags, operands } = input;
  const manifest = manifestPath(operands[0]!);
  const { save, ...kept } = keptJourney(manifest, keepingWish(input));
  const progress = progressLine(terminal, { quiet: flags.has("json") });
  try {
    const { check: found } = await journeys.checkCampaign(manifest, {
      ...kept,
      onProgress: ({ done, total, run, stage }) =>
        progress.show(`${done} of ${total} runs: ${run === "" ? "" : `${run}, `}${stage}`),
    });
    await save();
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
