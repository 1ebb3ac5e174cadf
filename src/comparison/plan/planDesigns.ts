import type { Plan } from "../../contract/plan.ts";
import type { Settings } from "../../contract/settings.ts";
import { leastAttainable } from "./leastAttainable.ts";
import { spreadOverBlocks } from "./spreadOverBlocks.ts";

const mostBlocks = 4;

/**
 * Designs before they are flown: 2 to `plan_most_runs` runs per configuration in 1 to 4 blocks, spread as evenly as can be,
 * with the least p that a rearrangement of the labels within blocks could ever give.
 *
 * @param level  two-sided, of a single cell of the family
 */
export function planDesigns(level: number, settings: Settings): Plan["designs"] {
  const designs: Plan["designs"] = [];
  for (let runs = 2; runs <= settings.plan_most_runs; runs++) {
    for (let blocks = 1; blocks <= Math.min(mostBlocks, runs); blocks++) {
      const { arrangements, leastP } = leastAttainable(spreadOverBlocks(runs, blocks));
      designs.push({
        runs_per_configuration: runs,
        blocks,
        arrangements,
        p_least: leastP,
        can_reach: leastP < settings.permutation_level,
        can_reach_family: leastP < level,
      });
    }
  }
  return designs;
}
