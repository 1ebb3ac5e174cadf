import type { CampaignEvaluation, RunEvaluation } from "../contract/evaluation.ts";
import { quotedName, shortName } from "./text/nameText.ts";
import { plainText } from "./text/plainText.ts";

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
