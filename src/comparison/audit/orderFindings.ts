import type { Audit, AuditFinding } from "../../contract/audit.ts";
import { type AuditedCampaign, doubt, note } from "./auditFinding.ts";
import { labelOf, percentText } from "./auditWords.ts";
import type { FlownOrder } from "./orderFlown.ts";

const sources = {
  started: "the declared starts",
  "log times": "the dates in the logs",
  manifest: "the order of the manifest",
} as const;

/**
 * Whether the order of the flights could have made the difference, as far as it is known: `order-drift` where a steady drift of
 * the size in the settings would fake more than the share in the settings, `order-unknown` where nothing says when the runs
 * were flown, or two sources say different things.
 */
export function orderFindings(
  { campaign, settings }: AuditedCampaign,
  order: Audit["order"],
  { source, contradiction }: FlownOrder,
): AuditFinding[] {
  const findings: AuditFinding[] = [];
  if (contradiction !== null)
    findings.push(
      doubt("order-unknown", {
        message: `runs ${contradiction.join(" and ")} were flown in this order by their declared starts, in the other by the dates in their logs; the declared starts were taken`,
        evidence: { source, runs: [...contradiction] },
        hint: "correct `started`, or leave it out where the logs' own dates are right",
      }),
    );
  if (source === "manifest" && order.some(({ later }) => later !== null))
    findings.push(
      note("order-unknown", {
        message:
          "the order of the flights is not known: neither `started` nor the logs' own dates tell all used runs apart, so the order of the manifest is taken",
        evidence: { source },
        hint: "give every run its `started`, date and time",
      }),
    );
  const label = (key: string): string => labelOf(campaign, key);
  for (const { trajectory, later, faked, sequence } of order) {
    if (later === null || faked === null || Math.abs(faked) <= settings.audit_faked_share) continue;
    const [late, early] = later > 0 ? [campaign.candidate, campaign.baseline] : [campaign.baseline, campaign.candidate];
    const places = Math.abs(later);
    findings.push(
      doubt("order-drift", {
        message: `${trajectory}: ${label(late)} was flown ${countText(places)} later than ${label(early)} on average, by ${sources[source]}: an error that grew or fell by ${percentText(settings.audit_drift_per_run)} a flight (battery, air, a warming arm) would look like a difference of ${percentText(faked)}`,
        evidence: {
          trajectory,
          sequence: [...sequence],
          later,
          drift_per_flight: settings.audit_drift_per_run,
          faked,
          source,
        },
        hint: "fly mirrored orders within each block (A B B A, in the next block B A A B): a steady drift then cancels",
      }),
    );
  }
  return findings;
}

function countText(places: number): string {
  const stated = places.toFixed(1).replace(/\.0$/, "");
  return `${stated} ${stated === "1" ? "place" : "places"}`;
}
