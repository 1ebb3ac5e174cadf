import type { AuditFinding } from "../../contract/audit.ts";
import { subjects } from "../../foundation/signals.ts";
import { mean } from "../../numeric/mean.ts";
import { median } from "../../numeric/median.ts";
import { joinWords } from "../../words/lists.ts";
import { type AuditedCampaign, doubt } from "./auditFinding.ts";
import { labelOf, percentText } from "./auditWords.ts";

/**
 * `valid-apart`: the used runs of one configuration have fewer valid samples in their scored windows, by more than the settings
 * allow, in the mean and in the median alike: one bad run moves the mean, but not both.
 */
export function validFindings({ campaign, pair, settings }: AuditedCampaign): AuditFinding[] {
  const stated = subjects.flatMap((subject) => {
    const of = (configuration: string): Float64Array =>
      Float64Array.from(
        pair
          .filter((run) => run.configuration === configuration)
          .map((run) => run.valid_fraction[subject])
          .filter((share) => share !== undefined),
      );
    const baseline = of(campaign.baseline);
    const candidate = of(campaign.candidate);
    if (Math.min(baseline.length, candidate.length) < 2) return [];
    const means = mean(candidate) - mean(baseline);
    const medians = median(candidate) - median(baseline);
    const apart = Math.min(Math.abs(means), Math.abs(medians)) > settings.audit_valid_apart;
    if (!apart || Math.sign(means) !== Math.sign(medians)) return [];
    return [{ subject, baseline: mean(baseline), candidate: mean(candidate) }];
  });
  if (stated.length === 0) return [];
  const shares = stated.map(
    ({ subject, baseline, candidate }) => `${subject} ${percentText(baseline)} and ${percentText(candidate)}`,
  );
  return [
    doubt("valid-apart", {
      message: `${labelOf(campaign, campaign.baseline)} and ${labelOf(campaign, campaign.candidate)} differ in their valid samples: ${joinWords(shares)} on average, and by the median run too; what was lost may not be like what was kept`,
      evidence: {
        subjects: stated.map(({ subject }) => subject),
        baseline: stated.map(({ baseline }) => baseline),
        candidate: stated.map(({ candidate }) => candidate),
      },
      hint: "look whether counterweights or their mounts hide markers; move the markers and fly again",
    }),
  ];
}
