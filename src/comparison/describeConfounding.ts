import type { Campaign } from "../contract/campaign.ts";
import type { Check } from "../foundation/checks.ts";
import type { ConfoundedTrajectory } from "./confoundedTrajectories.ts";

/** The check `confounded` of the runs of a trajectory whose configurations were flown in separate blocks, all or in part. */
export function describeConfounding(
  { configurations, baseline, candidate }: Pick<Campaign, "configurations" | "baseline" | "candidate">,
  { trajectory, sharedBlocks, baselineBlocks, candidateBlocks }: ConfoundedTrajectory,
): Check {
  const label = (key: string): string => configurations[key]?.label ?? key;
  const [which, what] =
    sharedBlocks.length === 0
      ? ["no block", "what differs, or does not, may be the blocks'"]
      : ["only one block", "the others enter the difference too, which may in part be theirs"];
  return {
    code: "confounded",
    severity: "doubt",
    message: `${which} of ${trajectory} holds both configurations: ${label(baseline)} in ${baselineBlocks.join(", ")}, ${label(candidate)} in ${candidateBlocks.join(", ")}; ${what}`,
    evidence: {
      trajectory,
      shared_blocks: sharedBlocks,
      baseline_blocks: baselineBlocks,
      candidate_blocks: candidateBlocks,
    },
    hint: "fly both configurations in every block, in mixed order; no analysis can part them afterwards",
  };
}
