import type { Campaign } from "../contract/campaign.ts";

/** A trajectory whose two configurations were never flown under like conditions. */
export interface ConfoundedTrajectory {
  readonly trajectory: string;
  readonly baselineBlocks: readonly string[];
  readonly candidateBlocks: readonly string[];
}

/** What is asked of a run. */
export interface PlacedRun {
  readonly configuration: string;
  readonly trajectory: string;
  readonly block: string | null;
}

/**
 * Trajectories that both configurations flew, but never in the same block: what differs may be the day, the battery or the
 * pilot's form as well as the counterweights. Runs without a block share one.
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
    if ([...baseline].some((block) => candidate.has(block))) return [];
    const names = (blocks: Set<string | null>): string[] => [...blocks].map((block) => block ?? "no block");
    return [{ trajectory, baselineBlocks: names(baseline), candidateBlocks: names(candidate) }];
  });
}
