import { isUntested } from "../catalogue/verdicts.ts";
import type { Cell, CellSide } from "../contract/cell.ts";
import type { CampaignEvaluation, RunEvaluation } from "../contract/evaluation.ts";
import { plainText } from "./text/layout.ts";
import { quotedName, shortName } from "./text/nameText.ts";
import { countRange } from "./text/numbers.ts";

/** A configuration as a person reads it. */
export interface NamedConfiguration {
  readonly key: string;
  readonly label: string;
  /** the label; with the key in brackets where another configuration bears the same */
  readonly name: string;
  /** what the verdicts will use it for; null for one that is only flown beside them */
  readonly role: "baseline" | "candidate" | "sham" | null;
}

/** A run as lists of findings need it: of an evaluation, or of a check, where nothing says which configuration it is of. */
export type FiledRun = Pick<
  RunEvaluation,
  "id" | "trajectory" | "block" | "used" | "excluded_because" | "put_back_because" | "outcome" | "checks"
> & { readonly configuration: string | null };

/** What an evaluation and a check have in common, as far as findings are concerned. */
export interface Filed extends Pick<CampaignEvaluation, "settings" | "noise"> {
  readonly runs: readonly FiledRun[];
}

/** The declared configurations: baseline, candidate and sham first, the others as declared. */
export function namedConfigurations({ settings }: Pick<CampaignEvaluation, "settings">): NamedConfiguration[] {
  const roles = [
    ["baseline", settings.baseline],
    ["candidate", settings.candidate],
    ["sham", settings.sham],
  ] as const;
  const first = roles.map(([, key]) => key).filter((key) => key !== null && key in settings.configurations) as string[];
  const keys = [...new Set([...first, ...Object.keys(settings.configurations)])];
  const labels = keys.map((key) => plainText(settings.configurations[key]!.label) || plainText(key));
  return keys.map((key, index) => ({
    key,
    label: labels[index]!,
    name: sharesOne(labels, index) ? `${labels[index]!} (${plainText(key)})` : labels[index]!,
    role: roles.find(([, name]) => name === key)?.[0] ?? null,
  }));
}

/**
 * A configuration as it stands within a sentence: its label in quotation marks, and its key where another configuration's
 * label reads alike there.
 *
 * @example quotedConfiguration(evaluation, "bare") // => '"Arm alone"', or '"Arm" (bare)' beside '"Arm" (weighted)'
 */
export function quotedConfiguration(evaluation: CampaignEvaluation, key: string): string {
  const named = namedConfigurations(evaluation);
  const quoted = named.map(({ label }) => quotedName(label));
  const index = named.findIndex((each) => each.key === key);
  if (index < 0) return quotedName(key);
  return sharesOne(quoted, index) ? `${quoted[index]!} (${shortName(key)})` : quoted[index]!;
}

/** The words at `index` stand in another place too. */
function sharesOne(words: readonly string[], index: number): boolean {
  return words.some((word, other) => other !== index && word === words[index]);
}

/** A run is unusable where one of its checks says so. */
export function isUnusable(run: Pick<FiledRun, "checks">): boolean {
  return run.checks.some(({ severity }) => severity === "unusable");
}

/** A person's own reason for leaving a run out; null where the tool left it out, or nobody did. */
export function exclusionReason(run: FiledRun): string | null {
  const reason = run.excluded_because;
  if (reason === null || (run.outcome === "aborted" && reason === "aborted")) return null;
  return isUnusable(run) && reason.startsWith("unusable: ") ? null : reason;
}

/** Runs of baseline and candidate. */
export type RunCounts = readonly [number, number];

/**
 * How many runs of either configuration enter a cell's difference: all of them, or within blocks only those in blocks that
 * hold both. These are the runs that count for "too few runs".
 */
export function enteringRuns(cell: Cell, { runs }: Pick<CampaignEvaluation, "runs">): RunCounts {
  const { baseline, candidate, method } = cell;
  if (method !== "blocked") return [baseline.n, candidate.n];
  const blockOf = new Map(runs.map(({ id, block }) => [id, block]));
  // runs without a block share one
  const blocks = (side: CellSide): (string | null)[] => side.runs.map((id) => blockOf.get(id) ?? null);
  const [own, other] = [blocks(baseline), blocks(candidate)];
  const [ownNames, otherNames] = [new Set(own), new Set(other)];
  return [own.filter((block) => otherNames.has(block)).length, other.filter((block) => ownNames.has(block)).length];
}

/** Some runs of the cell stand in blocks that hold one configuration, and say nothing of the difference. */
export function hasStrays(cell: Cell, evaluation: Pick<CampaignEvaluation, "runs">): boolean {
  const [baseline, candidate] = enteringRuns(cell, evaluation);
  return baseline < cell.baseline.n || candidate < cell.candidate.n;
}

/** Counts of several cells: "2 v 2", "1 to 2 v 2". */
export function countsText(counts: readonly RunCounts[]): string {
  return ([0, 1] as const).map((side) => countRange(counts.map((each) => each[side]))).join(" v ");
}

/** The cells that carry a verdict: the declared family. */
export function familyCells({ cells }: CampaignEvaluation): Cell[] {
  return cells.filter((cell) => cell.in_family && cell.verdict !== null);
}

/** A cell that more flights could settle. */
export function isOpen({ verdict }: Cell): boolean {
  return verdict === "within the noise" || isUntested(verdict);
}

/** A cell in which the vehicle or the effector is said to have become steadier or less steady. */
export function isClaim({ verdict }: Cell): boolean {
  return verdict === "steadier" || verdict === "less steady";
}

/** Runs of the baseline, runs of the candidate: "5 v 5"; "2 v 2 of 4 v 5" where only some of them enter the difference. */
export function runsText(cell: Cell, evaluation: Pick<CampaignEvaluation, "runs">): string {
  const { baseline, candidate } = cell;
  const used = countsText([[baseline.n, candidate.n]]);
  return hasStrays(cell, evaluation) ? `${countsText([enteringRuns(cell, evaluation)])} of ${used}` : used;
}

/** Runs without which there is no verdict, as the evaluation applied it. */
export function leastRuns({ settings }: CampaignEvaluation): number {
  return settings.thresholds.least_runs ?? 3;
}
