import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import { roleSigns } from "../../app/verdictSigns.ts";

/** A configuration as a person reads it; its key where no label is declared. */
export function configurationLabel(campaign: CampaignView, name: string): string {
  return campaign.configurations.find((one) => one.name === name)?.label || name;
}

/** Its label behind the sign of its role. */
export function signedLabel(campaign: CampaignView, name: string): string {
  const role = campaign.configurations.find((one) => one.name === name)?.role ?? "other";
  return `${roleSigns[role]} ${configurationLabel(campaign, name)}`;
}
