import type { RunRow } from "../../../src/contract/api/runAnswers.ts";

/** What a person can do about a run here. */
export type RunAction =
  | { readonly kind: "exclude" | "put back"; readonly button: string }
  | { readonly kind: "take back"; readonly button: string }
  | null;

/** An unusable run cannot be put back by a word: its log or its line in the manifest must be mended. */
export function runAction({ decision, checks }: RunRow): RunAction {
  if (decision?.source === "exclusions.yaml") {
    return { kind: "take back", button: decision.include ? "Exclude again" : "Include again" };
  }
  if (checks.some(({ severity }) => severity === "unusable")) return null;
  if (decision !== null) return { kind: "put back", button: "Include…" };
  return { kind: "exclude", button: "Exclude…" };
}

/** Whether a run counts, in words. */
export function useText({ used, excluded_because: because, decision, outcome }: RunRow): string {
  const aborted = outcome === "aborted" ? "aborted; " : "";
  if (used) return decision?.include ? `${aborted}used: put back, ${decision.reason}` : `${aborted}used`;
  if (decision !== null && !decision.include) {
    const where = decision.source === "manifest" ? "manifest" : "here";
    return `${aborted}excluded (${where}): ${decision.reason}`;
  }
  // which check it was stands beside it
  const unusable = because?.startsWith("unusable") ?? false;
  return `${aborted}${unusable ? "left out: unusable" : (because ?? "not used")}`;
}

const severities = ["unusable", "doubt", "note"] as const;

/** The worst of a run's checks, counted, with their codes; "none" without any. */
export function checksText(checks: RunRow["checks"]): string {
  for (const severity of severities) {
    const found = checks.filter((check) => check.severity === severity && check.accepted_because === null);
    if (found.length === 0) continue;
    const codes = [...new Set(found.map(({ code }) => code))].join(", ");
    const word = severity === "unusable" || found.length === 1 ? severity : `${severity}s`;
    return `${found.length} ${word}: ${codes}`;
  }
  return "none";
}
