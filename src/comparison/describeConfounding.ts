import type { Campaign } from "../contract/campaign.ts";
import type { Check } from "../foundation/checks.ts";
import type { ConfoundedTrajectory } from "./confoundedTrajectories.ts";

/** The check `confounded` of the runs of a trajectory whose configurations were flown in separate blocks. */
export function describeConfounding(
  { configurations, baseline, candidate }: Pick<Campaign, "configurations" | "baseline" | "candidate">,
  { trajectory, baselineBlocks, candidateBlocks }: ConfoundedTrajectory,
): Check {
  const label = (key: string): string => configurations[key]?.label ?? key;
  return {
    code: "confounded",
    severity: "doubt",
    message: `no block of ${trajectory} holds both configurations: ${label(baseline)} in ${baselineBlocks.join(", ")}, ${label(candidate)} in ${candidateBlocks.join(", ")}; a difference may be the blocks'`,
    evidence: { trajectory, baseline_blocks: baselineBlocks, candidate_blocks: candidateBlocks },
    hint: "fly both configurations in every block, in mixed order; no analysis can part them afterwards",
  };
}
