import type { AuditFinding } from "../../contract/audit.ts";
import { joinWords } from "../../words/lists.ts";
import { confoundedTrajectories } from "../confoundedTrajectories.ts";
import { describeConfounding } from "../describeConfounding.ts";
import { type AuditedCampaign, comparedTrajectories, doubt, note } from "./auditFinding.ts";
import { labelOf } from "./auditWords.ts";

/**
 * Whether blocks (days, battery packs) could have made the difference: no block that holds both configurations
 * (`separate-blocks`), one block only (`one-block`), blocks that hold much more of one than of the other (`uneven-blocks`).
 */
export function blockFindings(audited: AuditedCampaign): AuditFinding[] {
  const { campaign, pair } = audited;
  const confounded = confoundedTrajectories(campaign, pair);
  const findings = confounded.map((trajectory): AuditFinding => {
    const { message, evidence, hint } = describeConfounding(campaign, trajectory);
    return doubt(trajectory.sharedBlocks.length === 0 ? "separate-blocks" : "uneven-blocks", {
      message,
      evidence: { ...evidence } as AuditFinding["evidence"],
      hint,
    });
  });
  const others = comparedTrajectories(audited).filter((name) =>
    confounded.every(({ trajectory }) => trajectory !== name),
  );
  const single = others.filter((name) => blocksOf(audited, name).length === 1);
  return [...findings, ...oneBlock(audited, single), ...unevenBlocks(audited, others)];
}

function blocksOf({ pair }: AuditedCampaign, trajectory: string): (string | null)[] {
  return [...new Set(pair.filter((run) => run.trajectory === trajectory).map(({ block }) => block))];
}

function oneBlock(audited: AuditedCampaign, trajectories: readonly string[]): AuditFinding[] {
  if (trajectories.length === 0) return [];
  const blocks = [...new Set(trajectories.flatMap((name) => blocksOf(audited, name)))];
  const named = blocks.filter((block) => block !== null);
  const where =
    named.length === 0
      ? `the runs of ${joinWords(trajectories)} have no block`
      : `all runs of ${joinWords(trajectories)} are of one block${trajectories.length > 1 && blocks.length > 1 ? " each" : ""} (${joinWords(blocks.map((block) => block ?? "no block"))})`;
  return [
    note("one-block", {
      message: `${where}: how far the difference changes from day to day cannot be seen, and the interval does not hold it`,
      evidence: { trajectories: [...trajectories], blocks: blocks.map((block) => block ?? "no block") },
      hint:
        named.length === 0
          ? "declare the day or the battery pack of every run as `block`; else repeat both configurations on another day"
          : "repeat both configurations on another day, as a block of its own",
    }),
  ];
}

function unevenBlocks(audited: AuditedCampaign, trajectories: readonly string[]): AuditFinding[] {
  const { campaign, pair, settings } = audited;
  return trajectories.flatMap((trajectory): AuditFinding[] => {
    const rows = blocksOf(audited, trajectory).map((block) => {
      const count = (configuration: string): number =>
        pair.filter(
          (run) => run.trajectory === trajectory && run.block === block && run.configuration === configuration,
        ).length;
      return { block: block ?? "no block", counts: [count(campaign.baseline), count(campaign.candidate)] as const };
    });
    if (rows.length < 2) return [];
    const uneven = rows.filter(({ counts }) => Math.max(...counts) >= settings.audit_block_ratio * Math.min(...counts));
    if (uneven.length === 0) return [];
    const stated = uneven.map(({ block, counts }) => `${counts.join(" v ")} in ${block}`);
    const empty = uneven.some(({ counts }) => Math.min(...counts) === 0);
    return [
      note("uneven-blocks", {
        message: `${trajectory}: ${joinWords(stated)}, runs of ${labelOf(campaign, campaign.baseline)} v ${labelOf(campaign, campaign.candidate)}${empty ? "; a block that holds one configuration says nothing of the difference and is left out of it" : ": the difference is taken within blocks, with the wider interval that unequal counts need"}`,
        evidence: {
          trajectory,
          blocks: uneven.map(({ block }) => block),
          baseline: uneven.map(({ counts }) => counts[0]),
          candidate: uneven.map(({ counts }) => counts[1]),
        },
        hint: "fly as many runs of one configuration as of the other in every block",
      }),
    ];
  });
}
