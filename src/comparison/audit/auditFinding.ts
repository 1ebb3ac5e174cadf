import type { AuditCodeOf } from "../../catalogue/auditFindings.ts";
import type { AuditFinding } from "../../contract/audit.ts";
import type { Campaign } from "../../contract/campaign.ts";
import type { Cell } from "../../contract/cell.ts";
import type { RunEvaluation } from "../../contract/evaluation.ts";
import type { Settings } from "../../contract/settings.ts";

/** What every part of the audit looks at. */
export interface AuditedCampaign {
  readonly campaign: Campaign;
  /** as filed, in the manifest's order */
  readonly runs: readonly RunEvaluation[];
  /** those of them that the verdicts rest on, and of these the ones of the judged pair */
  readonly used: readonly RunEvaluation[];
  readonly pair: readonly RunEvaluation[];
  readonly cells: readonly Cell[];
  readonly settings: Settings;
}

/** What a finding says, without its code. */
export type FindingWords = Omit<AuditFinding, "code" | "severity">;

/** A reviewer will ask. */
export function doubt(code: AuditCodeOf<"doubt">, words: FindingWords): AuditFinding {
  return { code, severity: "doubt", ...words };
}

/** Worth knowing. */
export function note(code: AuditCodeOf<"note">, words: FindingWords): AuditFinding {
  return { code, severity: "note", ...words };
}

/** Trajectories of which both configurations of the pair have used runs: those that something is said of. */
export function comparedTrajectories({ campaign, pair }: AuditedCampaign): string[] {
  const flown = (trajectory: string, configuration: string): boolean =>
    pair.some((run) => run.trajectory === trajectory && run.configuration === configuration);
  return Object.keys(campaign.trajectories).filter(
    (name) => flown(name, campaign.baseline) && flown(name, campaign.candidate),
  );
}
