import { planLimits } from "../../contract/api/queries.ts";
import { ArgumentError, CounterpoiseError } from "../../foundation/errors.ts";
import { campaignFiles } from "../../pipeline/campaignFiles.ts";
import { planFlights } from "../../pipeline/planFlights.ts";
import { type PlanFile, writePlanFiles } from "../../pipeline/writePlanFiles.ts";
import { planCardsPage } from "../../report/plan/planCardsPage.ts";
import { planNames } from "../../report/plan/planNames.ts";
import { planText } from "../../report/plan/planText.ts";
import { plainText } from "../../report/text/plainText.ts";
import { textStyle } from "../../report/text/textStyle.ts";
import type { CommandInput } from "../Command.ts";
import { manifestPath } from "../manifestPath.ts";
import { checkPlanPath, sameFile } from "../planPath.ts";
import { progressLine } from "../progressLine.ts";
import { sideBySide } from "../sideBySide.ts";
import type { Terminal } from "../Terminal.ts";

/** What the command stands on. Tests pass their own. */
export interface PlanJourneys {
  readonly planFlights: typeof planFlights;
  readonly campaignFiles: typeof campaignFiles;
  readonly writePlanFiles: typeof writePlanFiles;
}

/** narrower than this no table of a plan can be read */
const leastWidth = 60;

/**
 * `counterpoise plan MANIFEST`: what to fly next, in which order, with cards and a table of runs where they are asked for.
 *
 * @returns 0
 * @throws ArgumentError  a number that is none, a wish that cannot be planned, or a place that must not be written
 * @throws ManifestError  the manifest is at fault
 * @throws CounterpoiseError  code `not-written`: the disk refused
 */
export async function plan(
  { flags, values, operands }: CommandInput,
  terminal: Terminal,
  journeys: PlanJourneys = { planFlights, campaignFiles, writePlanFiles },
): Promise<number> {
  const manifest = manifestPath(operands[0]!);
  const wish = {
    runs: wholeNumber(values, "runs", 2, planLimits.runs),
    blocks: wholeNumber(values, "blocks", 1, planLimits.blocks),
    seed: wholeNumber(values, "seed", 0, planLimits.seed),
    sham: flags.has("sham"),
  };
  const paths = { cards: values.get("cards") ?? null, csv: values.get("csv") ?? null };
  await checkPaths(manifest, paths, journeys);
  const progress = progressLine(terminal, { quiet: flags.has("json") });
  try {
    const { plan, day, evaluation } = await journeys
      .planFlights(manifest, {
        wish,
        measureRuns: sideBySide,
        onProgress: ({ done, total, run, stage }) =>
          progress.show(`${done} of ${total} runs: ${run === "" ? "" : `${run}, `}${stage}`),
      })
      .catch((error: unknown) => {
        throw asArgument(error);
      });
    const names = planNames(evaluation);
    const files: PlanFile[] = [];
    if (paths.cards !== null) files.push({ path: paths.cards, text: planCardsPage(plan, day, names) });
    if (paths.csv !== null) files.push({ path: paths.csv, text: day.runs_csv });
    await journeys.writePlanFiles(files);
    progress.clear();
    if (flags.has("json")) terminal.out(`${JSON.stringify({ plan, day }, null, 1)}\n`);
    else {
      const frame = { width: Math.max(leastWidth, terminal.width), style: textStyle(terminal.colour) };
      terminal.out(`${planText(plan, day, names, frame).join("\n")}\n`);
      if (files.length > 0) terminal.out("\n");
      for (const { path } of files) terminal.out(`Written: ${plainText(path)}\n`);
    }
    return 0;
  } finally {
    progress.clear();
  }
}

function wholeNumber(
  values: ReadonlyMap<string, string>,
  name: string,
  least: number,
  most: number,
): number | undefined {
  const text = values.get(name);
  if (text === undefined) return undefined;
  const value = /^\d{1,10}$/.test(text) ? Number(text) : Number.NaN;
  if (value >= least && value <= most) return value;
  throw new ArgumentError(
    "option-value",
    `found --${name} ${plainText(text)}, expected a whole number from ${least} to ${most}`,
    { hint: "counterpoise help plan explains the options" },
  );
}

/** Where files are asked for; before the work, not after it. */
async function checkPaths(
  manifest: string,
  { cards, csv }: { readonly cards: string | null; readonly csv: string | null },
  journeys: PlanJourneys,
): Promise<void> {
  if (cards === null && csv === null) return;
  const own = await journeys.campaignFiles(manifest);
  if (cards !== null) checkPlanPath(cards, "cards", own);
  if (csv !== null) checkPlanPath(csv, "csv", own);
  if (cards !== null && csv !== null && sameFile(cards, csv))
    throw new ArgumentError("output-refused", "found the same file for --cards and --csv, expected two", {
      place: csv,
      hint: "choose another name for --csv",
    });
}

/** Wishes that only the campaign can refuse are still the command line's fault. */
function asArgument(error: unknown): unknown {
  if (!(error instanceof CounterpoiseError) || !["not-a-plan", "no-sham"].includes(error.code)) return error;
  return new ArgumentError(error.code, error.message, { hint: error.hint, cause: error });
}
