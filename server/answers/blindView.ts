import type { CampaignView } from "../../src/contract/api/campaignAnswer.ts";
import { subjects } from "../../src/foundation/signals.ts";
import { checkSentences } from "../../src/report/checkSentences.ts";
import type { Checked } from "../Service.ts";
import { viewOfSettings } from "./campaignView.ts";

/** What every page shows of a campaign that is checked and not evaluated: letters for configurations, and no cells. */
export function blindView({ campaign, check }: Checked, manifestName: string): CampaignView {
  const { audit, runs, settings } = check;
  return {
    ...viewOfSettings(check, campaign, manifestName),
    blind: true,
    answer: checkSentences(check),
    configurations: Object.entries(settings.configurations).map(([name, configuration]) => ({
      name,
      role: "other",
      ...configuration,
      runs: audit.configurations[name]?.runs.filed ?? 0,
      used: audit.configurations[name]?.runs.used ?? 0,
    })),
    subjects: subjects.filter((subject) => runs.some((run) => run.valid_fraction[subject] !== undefined)),
    metrics: [],
    family: 0,
    looks: { count: 0, first: check.opened, recorded: true },
  };
}
