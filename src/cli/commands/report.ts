import type { CampaignEvaluation } from "../../contract/evaluation.ts";
import { ArgumentError } from "../../foundation/errors.ts";
import { evaluateCampaign } from "../../pipeline/evaluateCampaign.ts";
import { keptJourney } from "../../pipeline/kept/keptJourney.ts";
import { loadCampaign } from "../../pipeline/loadCampaign.ts";
import { reportFiles } from "../../pipeline/reportFiles.ts";
import { checkReportFolder, reportDifferences, writeReport } from "../../pipeline/reportFolder.ts";
import { plainText } from "../../report/text/layout.ts";
import { type CommandInput, keepingWish, manifestPath, type Terminal } from "../Command.ts";
import { progressLine } from "../readArguments.ts";

/**
 * `counterpoise report MANIFEST --out FOLDER`: evaluates, and writes the report; with `--check FOLDER` evaluates and says whether the
 * report in that folder is what would be written now.
 *
 * @returns 0; 1 where no run can be used, or where the report differs
 * @throws ArgumentError  neither folder, or one that must not be written
 * @throws ManifestError  the manifest is at fault
 * @throws CounterpoiseError  code `not-written`: the disk refused; nothing was changed
 */
export async function report(input: CommandInput, terminal: Terminal): Promise<number> {
  const { flags, values, operands } = input;
  const manifest = manifestPath(operands[0]!);
  const [out, check] = [values.get("out") ?? null, values.get("check") ?? null];
  if ((out === null) === (check === null))
    throw new ArgumentError(
      "missing-option",
      `found ${out === null ? "neither --out nor --check" : "both --out and --check"}, expected one of them`,
      { hint: "counterpoise report campaign.yaml --out report" },
    );
  const { effects, measureRuns, save } = keptJourney(manifest, keepingWish(input));
  const { campaign } = await loadCampaign(manifest, effects);
  if (out !== null) await checkReportFolder(out, campaign.title);
  const progress = progressLine(terminal, { quiet: flags.has("quiet") });
  let settled: CampaignEvaluation | null = null;
  let evaluation: CampaignEvaluation;
  try {
    const found = await evaluateCampaign(manifest, {
      effects,
      measureRuns,
      // who checks a report has seen its answer
      look: check === null,
      // with the look as it stands on record, so that the next report is the same
      settled: (next) => {
        settled = next;
      },
      onProgress: ({ done, total, run, stage }) =>
        progress.show(`${done} of ${total} runs: ${run === "" ? "" : `${run}, `}${stage}`),
    });
    evaluation = settled ?? found;
    await save();
  } finally {
    progress.clear();
  }
  const files = reportFiles(evaluation, campaign.rig ?? {});
  const usable = evaluation.runs.some(({ used }) => used);
  if (check !== null) {
    const lines = await reportDifferences(check, files);
    terminal.out(
      lines.length === 0
        ? `The same: every file of ${plainText(check)} is what would be written now.\n`
        : `${lines.map((line) => plainText(line)).join("\n")}\nThe report in ${plainText(check)} is not what would be written now: inputs, manifest or program changed. \`counterpoise diff\` says what, of two evaluation.json.\n`,
    );
    return lines.length === 0 ? 0 : 1;
  }
  await writeReport(out!, files);
  if (!flags.has("quiet"))
    terminal.out(`Written: ${plainText(out!)}, ${files.length} files; open index.html in a browser.\n`);
  return usable ? 0 : 1;
}
