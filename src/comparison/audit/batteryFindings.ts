import type { AuditFinding } from "../../contract/audit.ts";
import type { RunEvaluation } from "../../contract/evaluation.ts";
import { joinWords } from "../../words/amounts.ts";
import { runValues } from "../cellRuns.ts";
import { estimateDifference } from "../estimateDifference.ts";
import {
  type AuditedCampaign,
  comparedTrajectories,
  doubt,
  labelOf,
  note,
  percentText,
  probabilityText,
} from "./auditFinding.ts";
import { lostApart } from "./lossFindings.ts";
import type { FlownOrder } from "./orderFindings.ts";

/**
 * Whether the battery could have made the difference (`battery-apart`): configurations that share no pack, or few; one that
 * comes later on a charge; a sag of the voltage that falls on one of them.
 */
export function batteryFindings(audited: AuditedCampaign, flown: FlownOrder): AuditFinding[] {
  return [
    ...comparedTrajectories(audited).flatMap((trajectory) => [
      ...packsApart(audited, trajectory),
      ...chargeApart(audited, trajectory, flown),
    ]),
    ...sagApart(audited),
  ];
}

/**
 * No pack in common is a doubt where some pack flew more than once: then a pack may have made what looks like a
 * configuration's doing. Where every run had a pack of its own, packs differ from run to run and the spread between runs
 * holds it: a note.
 */
function packsApart({ campaign, pair, settings }: AuditedCampaign, trajectory: string): AuditFinding[] {
  const packsOf = (configuration: string): string[] =>
    pair
      .filter((run) => run.trajectory === trajectory && run.configuration === configuration)
      .map(({ battery }) => battery)
      .filter((battery) => battery !== null);
  const baseline = packsOf(campaign.baseline);
  const candidate = packsOf(campaign.candidate);
  if (Math.min(baseline.length, candidate.length) < 2) return [];
  const share = (packs: readonly string[], pack: string): number =>
    packs.filter((other) => other === pack).length / packs.length;
  const names = [...new Set([...baseline, ...candidate])].sort();
  const overlap = names.reduce((sum, pack) => sum + Math.min(share(baseline, pack), share(candidate, pack)), 0);
  if (overlap >= settings.audit_pack_overlap) return [];
  const shared = overlap > 0;
  const repeated = names.length < baseline.length + candidate.length;
  const stated = ([key, packs]: readonly [string, readonly string[]]): string =>
    `${labelOf(campaign, key)} on ${joinWords([...new Set(packs)].sort())}`;
  const words = {
    message: `${trajectory}: the configurations were flown on ${shared ? "mostly different" : "different"} battery packs, ${stated([campaign.baseline, baseline])}, ${stated([campaign.candidate, candidate])}${repeated ? "; what differs may be the packs" : "; every run had its own, so the spread between runs holds what packs differ by"}`,
    evidence: { trajectory, baseline, candidate, overlap },
    hint: "fly both configurations on every pack",
  };
  return [repeated && !shared ? doubt("battery-apart", words) : note("battery-apart", words)];
}

/**
 * Flights that follow one another on one pack within a block are taken for one charge, and counted from 1; the numbers enter a
 * difference the way the verdicts take theirs. A whole flight later (always first against always second) is a doubt, less a note.
 */
function chargeApart(
  { campaign, runs, pair, settings }: AuditedCampaign,
  trajectory: string,
  { source, places }: FlownOrder,
): AuditFinding[] {
  const own = pair.filter((run) => run.trajectory === trajectory);
  if (source === "manifest" || own.some(({ battery }) => battery === null)) return [];
  const numbers = flightOnCharge(runs, places);
  const estimate = estimateDifference(
    runValues(
      own.map(({ id, block, configuration }) => ({
        value: numbers.get(id)!,
        block,
        candidate: configuration === campaign.candidate,
      })),
    ),
  );
  const later = estimate?.difference ?? 0;
  if (Math.abs(later) <= settings.audit_charge_later) return [];
  const [late, early] = later > 0 ? [campaign.candidate, campaign.baseline] : [campaign.baseline, campaign.candidate];
  const words = {
    message: `${trajectory}: ${labelOf(campaign, late)} came later on a charge than ${labelOf(campaign, early)}, by ${Math.abs(later).toFixed(1)} flights on average (flights in a row on one pack are taken for one charge); a falling voltage weakens the thrust`,
    evidence: {
      trajectory,
      later,
      runs: own.map(({ id }) => id),
      flight_on_charge: own.map(({ id }) => numbers.get(id)!),
    },
    hint: "let each configuration come first on a fresh pack as often as the other",
  };
  return [Math.abs(later) >= 1 - 1e-9 ? doubt("battery-apart", words) : note("battery-apart", words)];
}

function flightOnCharge(runs: readonly RunEvaluation[], places: ReadonlyMap<string, number>): Map<string, number> {
  const numbers = new Map<string, number>();
  const sorted = runs.filter(({ id }) => places.has(id)).sort((a, b) => places.get(a.id)! - places.get(b.id)!);
  for (const [i, run] of sorted.entries()) {
    const before = sorted[i - 1];
    const goesOn = before !== undefined && before.battery === run.battery && before.block === run.block;
    numbers.set(run.id, goesOn ? numbers.get(before.id)! + 1 : 1);
  }
  return numbers;
}

function sagApart({ campaign, pair, settings }: AuditedCampaign): AuditFinding[] {
  const of = (configuration: string): [number, number] => {
    const own = pair.filter((run) => run.configuration === configuration);
    return [own.filter(({ checks }) => checks.some(({ code }) => code === "sag")).length, own.length];
  };
  const [baseline, candidate] = [of(campaign.baseline), of(campaign.candidate)];
  const { p, rule } = lostApart(baseline, candidate, settings);
  if (rule === null) return [];
  const stated = (key: string, [sagged, all]: readonly [number, number]): string =>
    `${sagged} of ${all} used runs (${percentText(sagged / Math.max(1, all))}) with ${labelOf(campaign, key)}`;
  return [
    doubt("battery-apart", {
      message: `the voltage sagged in ${stated(campaign.baseline, baseline)} and in ${stated(campaign.candidate, candidate)} (p ${probabilityText(p)}, Fisher): less voltage is less thrust for the same command`,
      evidence: {
        baseline: baseline[0],
        baseline_used: baseline[1],
        candidate: candidate[0],
        candidate_used: candidate[1],
        p,
        rule,
      },
      hint: "fly both on packs of like charge, and only in the upper part of it; heavier flights draw more: that part is the configuration's own",
    }),
  ];
}
