import type { Audit, AuditFinding } from "../../contract/audit.ts";
import { type AuditedCampaign, note } from "./auditFinding.ts";
import { gramsText, labelOf } from "./auditWords.ts";

/** `sham-missing`: mass was added, and nothing flown tells whether it is the balance or the mass that makes the difference. */
export function shamFindings(
  { campaign, used }: AuditedCampaign,
  { configurations, sham }: Pick<Audit, "configurations" | "sham">,
): AuditFinding[] {
  const addedBy = (key: string): number =>
    configurations[key]!.added_mass ?? configurations[key]!.counterweights_mass ?? 0;
  const heavier = addedBy(campaign.baseline) > addedBy(campaign.candidate) ? campaign.baseline : campaign.candidate;
  const added = addedBy(heavier);
  const declared = campaign.sham;
  if (sham.length > 0 || (declared === null && !(added > 0))) return [];
  const flown = declared !== null && used.some(({ configuration }) => configuration === declared);
  const why =
    declared === null
      ? "no configuration with the same mass at the centre of mass (`sham`) is declared"
      : flown
        ? `no used run with ${labelOf(campaign, declared)} has a number for a cell of the family`
        : `no run with ${labelOf(campaign, declared)} could be used`;
  const mass = added > 0 ? `${labelOf(campaign, heavier)} adds ${gramsText(added)}, and ` : "";
  return [
    note("sham-missing", {
      message: `${mass}${why}: whether the vehicle is steadier because it is balanced or because it is heavier cannot be told`,
      evidence: { sham: declared, added_mass: added },
      hint: "fly the same mass at the centre of mass as a third configuration and declare it as `sham`, mechanically retained like the counterweights",
    }),
  ];
}
