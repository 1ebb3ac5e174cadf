import { configurationBudgets } from "../comparison/configurationBudgets.ts";
import { frameEffects } from "../comparison/frameEffects.ts";
import { imbalances } from "../comparison/imbalances.ts";
import { synchronousEffects } from "../comparison/synchronousEffects.ts";
import { varianceComponents } from "../comparison/varianceComponents.ts";
import type { Campaign } from "../contract/campaign.ts";
import type { Cell } from "../contract/cell.ts";
import type { RunEvaluation } from "../contract/evaluation.ts";
import type { ConfigurationBudget, Reasons } from "../contract/reasons.ts";
import type { Settings } from "../contract/settings.ts";

/** Why the differences of a campaign are as they are, from its runs and cells. Nothing here carries a verdict. */
export function reasonsOf(
  campaign: Campaign,
  runs: readonly RunEvaluation[],
  cells: readonly Cell[],
  settings: Settings,
): Reasons {
  return {
    budget: inOrder(campaign, configurationBudgets(runs)),
    frames: frameEffects(campaign, runs, cells, settings),
    synchronous: synchronousEffects(campaign, runs, settings),
    imbalance: imbalances(campaign, runs, settings),
    components: varianceComponents(campaign, runs, settings),
  };
}

/** Trajectories as declared; baseline, candidate and sham before other configurations. */
function inOrder(campaign: Campaign, budgets: readonly ConfigurationBudget[]): ConfigurationBudget[] {
  const trajectories = Object.keys(campaign.trajectories);
  const { baseline, candidate, sham } = campaign;
  const first = [baseline, candidate, ...(sham === null ? [] : [sham])];
  const configurations = [...new Set([...first, ...Object.keys(campaign.configurations)])];
  const place = ({ trajectory, configuration }: ConfigurationBudget): number =>
    trajectories.indexOf(trajectory) * configurations.length + configurations.indexOf(configuration);
  return [...budgets].sort((a, b) => place(a) - place(b));
}
