import { readFileSync, realpathSync, statSync } from "node:fs";
import { basename, dirname, join, resolve } from "node:path";
import { csvParse } from "d3";
import { ArgumentError } from "../foundation/errors.ts";
import { cardsStart } from "../report/plan/planCardsPage.ts";
import { plainText } from "../report/text/plainText.ts";
import { isFolder } from "./manifestPath.ts";

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
export function checkPlanPath(path: string, option: "cards" | "csv", own: readonly string[]): void {
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
export function sameFile(a: string, b: string): boolean {
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
