import type { Campaign } from "../contract/campaign.ts";
import type { Check } from "../foundation/checks.ts";

/** A trajectory whose two configurations were not flown under like conditions. */
interface ConfoundedTrajectory {
  readonly trajectory: string;
  /** none, or the one block that holds both while others hold one configuration */
  readonly sharedBlocks: readonly string[];
  readonly baselineBlocks: readonly string[];
  readonly candidateBlocks: readonly string[];
}

/** What is asked of a run. */
interface PlacedRun {
  readonly configuration: string;
  readonly trajectory: string;
  readonly block: string | null;
}

/**
 * Trajectories that both configurations flew, but never in the same block, or in one block only beside others that hold one
 * configuration: what differs, or does not, may be the day, the battery or the pilot's form as well as the counterweights.
 * (With two shared blocks the difference is taken within them.) Runs without a block share one.
 *
 * @param runs  the runs that count
 */
export function confoundedTrajectories(campaign: Campaign, runs: readonly PlacedRun[]): ConfoundedTrajectory[] {
  return Object.keys(campaign.trajectories).flatMap((trajectory) => {
    const blocksOf = (configuration: string): Set<string | null> =>
      new Set(
        runs
          .filter((run) => run.trajectory === trajectory && run.configuration === configuration)
          .map(({ block }) => block),
      );
    const baseline = blocksOf(campaign.baseline);
    const candidate = blocksOf(campaign.candidate);
    if (baseline.size === 0 || candidate.size === 0) return [];
    const shared = [...baseline].filter((block) => candidate.has(block));
    const strays = baseline.size + candidate.size > 2 * shared.length;
    if (shared.length > 1 || !strays) return [];
    const names = (blocks: Iterable<string | null>): string[] => [...blocks].map((block) => block ?? "no block");
    return [
      {
        trajectory,
        sharedBlocks: names(shared),
        baselineBlocks: names(baseline),
        candidateBlocks: names(candidate),
      },
    ];
  });
}

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
