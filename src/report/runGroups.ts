import type { CampaignEvaluation, RunEvaluation } from "../contract/evaluation.ts";
import { plainText } from "./text/plainText.ts";

/** A configuration as a person reads it. */
export interface NamedConfiguration {
  readonly key: string;
  readonly label: string;
  /** what the verdicts will use it for; null for one that is only flown beside them */
  readonly role: "baseline" | "candidate" | "sham" | null;
}

/** The declared configurations: baseline, candidate and sham first, the others as declared. */
export function namedConfigurations({ settings }: CampaignEvaluation): NamedConfiguration[] {
  const roles = [
    ["baseline", settings.baseline],
    ["candidate", settings.candidate],
    ["sham", settings.sham],
  ] as const;
  const first = roles.map(([, key]) => key).filter((key) => key !== null && key in settings.configurations) as string[];
  const keys = [...new Set([...first, ...Object.keys(settings.configurations)])];
  return keys.map((key) => ({
    key,
    label: plainText(settings.configurations[key]!.label) || plainText(key),
    role: roles.find(([, name]) => name === key)?.[0] ?? null,
  }));
}

/** A run is unusable where one of its checks says so. */
export function isUnusable(run: RunEvaluation): boolean {
  return run.checks.some(({ severity }) => severity === "unusable");
}

/** A person's own reason for leaving a run out; null where the tool left it out, or nobody did. */
export function exclusionReason(run: RunEvaluation): string | null {
  const reason = run.excluded_because;
  if (reason === null || (run.outcome === "aborted" && reason === "aborted")) return null;
  return isUnusable(run) && reason.startsWith("unusable: ") ? null : reason;
}
