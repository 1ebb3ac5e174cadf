import { readFileSync, realpathSync, statSync } from "node:fs";
import { basename, dirname, join, resolve } from "node:path";
import { csvParse } from "d3-dsv";
import { planLimits } from "../../contract/api/queries.ts";
import { ArgumentError, CounterpoiseError } from "../../foundation/errors.ts";
import { campaignFiles } from "../../pipeline/campaignFiles.ts";
import { keptJourney } from "../../pipeline/kept/keptJourney.ts";
import { planFlights } from "../../pipeline/planFlights.ts";
import { type PlanFile, writePlanFiles } from "../../pipeline/writeEvaluation.ts";
import { cardsStart, planCardsPage } from "../../report/plan/planCardsPage.ts";
import { planText } from "../../report/plan/planText.ts";
import { planNames } from "../../report/plan/planWords.ts";
import { plainText, textStyle } from "../../report/text/layout.ts";
import { type CommandInput, isFolder, keepingWish, manifestPath, type Terminal } from "../Command.ts";
import { progressLine } from "../readArguments.ts";

/** A file larger than this is none of a plan, bytes. */
const largestPlan = 8 * 1024 * 1024;
const tableStart = /^id,(log|logs\.[^\n]*),configuration,trajectory,block,battery,takeoff_mass,outcome,notes\r?\n/;

/**
 * Looks, before the work starts, whether a file of a plan may be written: to a new file, over cards that this program wrote, or
 * over a table of its runs in which nobody has written yet. What was weighed and flown must not be lost to a new plan.
 *
 * @param own  files of the campaign, there or not
 * @throws ArgumentError  code `output-refused`
 */
function checkPlanPath(path: string, option: "cards" | "csv", own: readonly string[]): void {
  const refuse = (message: string): never => {
    throw new ArgumentError("output-refused", message, { place: path, hint: `choose another name for --${option}` });
  };
  if (path === "-") refuse("found -, expected the name of a file");
  if (isFolder(path)) refuse("found a folder, expected the name of a file");
  if (!isFolder(dirname(path))) refuse(`found no folder ${plainText(dirname(path))}, expected one to write to`);
  const campaigns = own.find((one) => sameFile(one, path));
  if (campaigns !== undefined)
    refuse(`found ${plainText(basename(campaigns))}, which belongs to the campaign, expected another file to write to`);
  const found = statSync(path, { throwIfNoEntry: false });
  if (found === undefined) return;
  const text = found.isFile() && found.size <= largestPlan ? readText(path) : null;
  if (option === "cards" && !text?.startsWith(cardsStart))
    refuse("found a file that holds no test cards, expected a new one or cards that may be replaced");
  if (option === "csv" && !(text !== null && isUntouched(text)))
    refuse("found a file that is no untouched table of planned runs, expected a new one");
}

/** Whether two paths lead to one file, or would: by another name, a link, or in letters that the disk takes for the same. */
function sameFile(a: string, b: string): boolean {
  const [one, other] = [a, b].map((path) => statSync(path, { throwIfNoEntry: false }));
  if (one !== undefined && other !== undefined) return one.ino === other.ino && one.dev === other.dev;
  return placeOf(a) === placeOf(b);
}

function placeOf(path: string): string {
  try {
    return join(realpathSync(dirname(path)), basename(path));
  } catch {
    return resolve(path);
  }
}

function isUntouched(text: string): boolean {
  if (!tableStart.test(text)) return false;
  return csvParse(text).every((row) => row.takeoff_mass === "" && row.outcome === "");
}

function readText(path: string): string | null {
  try {
    return readFileSync(path, "utf8");
  } catch {
    return null;
  }
}

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
  input: CommandInput,
  terminal: Terminal,
  journeys: PlanJourneys = { planFlights, campaignFiles, writePlanFiles },
): Promise<number> {
  const { flags, values, operands } = input;
  const manifest = manifestPath(operands[0]!);
  const { save, ...kept } = keptJourney(manifest, keepingWish(input));
  const wish = {
    runs: wholeNumber(values, "runs", 2, planLimits.runs),
    blocks: wholeNumber(values, "blocks", 1, planLimits.blocks),
    seed: wholeNumber(values, "seed", 0, planLimits.seed),
    trajectories: namesIn(values.get("trajectories")),
    sham: flags.has("sham"),
  };
  const paths = { cards: values.get("cards") ?? null, csv: values.get("csv") ?? null };
  await checkPaths(manifest, paths, journeys);
  const progress = progressLine(terminal, { quiet: flags.has("json") });
  try {
    const { plan, day, evaluation } = await journeys
      .planFlights(manifest, {
        wish,
        ...kept,
        onProgress: ({ done, total, run, stage }) =>
          progress.show(`${done} of ${total} runs: ${run === "" ? "" : `${run}, `}${stage}`),
      })
      .catch((error: unknown) => {
        throw asArgument(error);
      });
    await save();
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

/** Names parted by commas; one that holds a comma itself cannot be asked for. */
function namesIn(text: string | undefined): string[] | undefined {
  return text?.split(",").map((name) => name.trim());
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
