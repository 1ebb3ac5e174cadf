import { configurationBudgets } from "../comparison/configurationBudgets.ts";
import { frameEffects } from "../comparison/frameEffects.ts";
import { imbalances } from "../comparison/imbalances.ts";
import { synchronousEffects } from "../comparison/synchronousEffects.ts";
import { varianceComponents } from "../comparison/varianceComponents.ts";
import type { Campaign } from "../contract/campaign.ts";
import type { Cell } from "../contract/cell.ts";
import type { RunEvaluation } from "../contract/evaluation.ts";
import type { Reasons } from "../contract/reasons.ts";
import type { Settings } from "../contract/settings.ts";

/** Why the differences of a campaign are as they are, from its runs and cells. Nothing here carries a verdict. */
export function reasonsOf(
  campaign: Campaign,
  runs: readonly RunEvaluation[],
  cells: readonly Cell[],
  settings: Settings,
): Reasons {
  return {
    budget: configurationBudgets(runs),
    frames: frameEffects(campaign, runs, cells, settings),
    synchronous: synchronousEffects(campaign, runs, settings),
    imbalance: imbalances(campaign, runs, settings),
    components: varianceComponents(campaign, runs, settings),
  };
}
