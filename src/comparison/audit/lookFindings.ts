import type { AuditFinding } from "../../contract/audit.ts";
import { type AuditedCampaign, doubt, note } from "./auditFinding.ts";

/** Welch's test at 3 v 3 and again after each further pair up to 10 v 10: shares of false alarms. Simulated by the tests. */
const example =
  "a test made at 3 v 3 and after each further pair up to 10 v 10 gives a false alarm in about 14 of 100 campaigns in which nothing differs, not in 5";

/**
 * `many-looks`: the verdicts were looked at before, resting on something else (src/pipeline/lookGrounds.ts). How much
 * that inflates false alarms depends on what was changed and why, which no tool can see: a note, from the count in the
 * settings on a doubt.
 */
export function lookFindings({ settings }: AuditedCampaign, count: number): AuditFinding[] {
  if (count <= 1) return [];
  const words = {
    message: `the verdicts were looked at ${count} times, with other runs or files, filed otherwise, or with other frames, another measure or another smallest difference: where flights were added, or choices changed, because of what was seen, false alarms are more frequent than the p values say (for comparison: ${example})`,
    evidence: { count },
    hint: "say how often it was looked, and why; better, fix the number of runs, metric and smallest difference before the flights and look once",
  };
  return [count >= settings.audit_many_looks ? doubt("many-looks", words) : note("many-looks", words)];
}
