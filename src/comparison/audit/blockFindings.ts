import { measureOf } from "../../catalogue/measures.ts";
import type { Audit, AuditFinding } from "../../contract/audit.ts";
import { joinWords } from "../../words/amounts.ts";
import { familyPlaces } from "../cellRuns.ts";
import { confoundedTrajectories, describeConfounding } from "../confoundedTrajectories.ts";
import { holm } from "../judgeFamily.ts";
import {
  type AuditedCampaign,
  amountText,
  comparedTrajectories,
  doubt,
  labelOf,
  note,
  placesText,
} from "./auditFinding.ts";

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

/**
 * `drift-seen`: the runs themselves show that the error grew or fell from flight to flight, distinguished from 0 among all cells of the
 * family (Holm). A doubt where that would have faked more than the shares in the settings of the smallest difference or of the
 * cell's standard error, else a note: the order has kept it out of the difference.
 */
export function driftFindings(audited: AuditedCampaign, order: Audit["order"]): AuditFinding[] {
  const { campaign, cells, settings } = audited;
  const { unit } = measureOf(campaign.primary);
  const family = familyPlaces(campaign).map((place) => ({
    place,
    drift: order
      .find(({ trajectory }) => trajectory === place.trajectory)
      ?.drift.find(({ subject, axis }) => subject === place.subject && axis === place.axis),
  }));
  const adjusted = holm(family.map(({ drift }) => drift?.p ?? null));
  const seen = family.flatMap(({ place, drift }, i) => {
    const pFamily = adjusted[i]!;
    if (drift === undefined || pFamily >= settings.family_error) return [];
    const cell = cells.find(
      (own) =>
        own.in_family &&
        own.trajectory === place.trajectory &&
        own.subject === place.subject &&
        own.axis === place.axis,
    );
    const faked = Math.abs(drift.faked ?? 0);
    const smallest = campaign.smallestDifference[place.subject];
    const matters =
      (smallest !== null && faked > settings.audit_drift_of_smallest * smallest) ||
      (cell !== undefined && cell.se !== null && faked > settings.audit_drift_of_error * cell.se);
    return [{ ...place, judged_in: cell?.judged_in ?? "world", drift, pFamily, matters }];
  });
  return order.flatMap(({ trajectory }) =>
    [true, false].flatMap((matters): AuditFinding[] => {
      const own = seen.filter((each) => each.trajectory === trajectory && each.matters === matters);
      if (own.length === 0) return [];
      const slopes = own.map(({ drift }) => `${drift.slope > 0 ? "+" : "−"}${amountText(Math.abs(drift.slope), unit)}`);
      const faked = own.map(({ drift }) => amountText(Math.abs(drift.faked ?? 0), unit));
      const words = {
        message: `${trajectory}: the error of ${placesText(own)} changed from flight to flight, within either configuration (by ${joinWords(slopes)} a flight); ${matters ? `with the order flown that makes up ${joinWords(faked)} of the difference` : `the order flown keeps it out of the difference (${joinWords(faked)})`}`,
        evidence: {
          trajectory,
          places: own.map(({ subject, axis }) => `${subject} ${axis}`),
          slope: own.map(({ drift }) => drift.slope),
          faked: own.map(({ drift }) => drift.faked ?? 0),
          p_family: own.map(({ pFamily }) => pFamily),
        },
        hint: matters
          ? "look for what changed through the day (battery, temperature, markers, a loosening mount); fly again in mirrored order"
          : "look for what changed through the day (battery, temperature, markers, a loosening mount): it widens the interval",
      };
      return [matters ? doubt("drift-seen", words) : note("drift-seen", words)];
    }),
  );
}
