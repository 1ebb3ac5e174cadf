import type { AuditFinding } from "../../contract/audit.ts";
import type { Acceptance } from "../../contract/campaign.ts";
import type { RunCheck } from "../../contract/evaluation.ts";
import { evidenceText, isAbout, isAsAccepted } from "../cellDoubts.ts";
import { type AuditedCampaign, doubt, note } from "./auditFinding.ts";

/**
 * `accepted`: findings that a person takes as they are, and why. `accept-open`: acceptances that take nothing, or not all that
 * they name, because the finding is not what it was, or because they name no figure; the figures to write stand in the hint.
 *
 * @param about  `met`: only acceptances of findings that are there, where others are still to come
 */
export function acceptFindings({ campaign, runs }: AuditedCampaign, about: "all" | "met" = "all"): AuditFinding[] {
  return campaign.accept.flatMap((entry) => {
    const meant = runs.flatMap(({ id, checks }) =>
      checks.filter((check) => isAbout(entry, id, check)).map((check) => ({ id, check })),
    );
    const taken = meant.filter(({ check }) => isAsAccepted(entry, check));
    const open = meant.filter((one) => !taken.includes(one));
    return [
      ...(taken.length === 0
        ? []
        : [
            takenNote(
              entry,
              taken.map(({ id }) => id),
            ),
          ]),
      ...(open.length > 0 || (meant.length === 0 && about === "all") ? [openDoubt(entry, open)] : []),
    ];
  });
}

function takenNote({ check, because }: Acceptance, runs: readonly string[]): AuditFinding {
  const ids = [...new Set(runs)];
  return note("accepted", {
    message: `${check} on ${ids.length === 1 ? "1 run" : `${ids.length} runs`} is taken as it is: "${because}"`,
    evidence: { check, runs: ids, because },
    hint: "a reviewer will ask for the reason: keep what shows it beside the logs",
  });
}

function openDoubt(entry: Acceptance, open: readonly { id: string; check: RunCheck }[]): AuditFinding {
  const { check } = entry;
  const ids = [...new Set(open.map(({ id }) => id))];
  const evidence = { check, runs: ids };
  if (open.length === 0) {
    return note("accept-open", {
      message: `\`accept\` of ${check} takes nothing: none of its runs bears that doubt`,
      evidence,
      hint: "take the entry out, or correct its check and runs",
    });
  }
  const figures = evidenceText(open.map((one) => one.check));
  const named = Object.keys(entry.evidence).length > 0;
  return doubt("accept-open", {
    message: named
      ? `${check} on ${ids.length === 1 ? "1 run" : `${ids.length} runs`} is not what was accepted: its figures are now ${figures}`
      : `\`accept\` of ${check} takes nothing yet: it does not say what the finding was when it was accepted`,
    evidence,
    hint: `look at it again; where it may be taken as it is, write \`evidence: ${figures}\` in the entry`,
  });
}
