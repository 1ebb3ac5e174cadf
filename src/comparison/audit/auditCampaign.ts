import { labThresholdNames, thresholdText } from "../../catalogue/thresholds.ts";
import type { Audit, AuditFinding } from "../../contract/audit.ts";
import type { Campaign } from "../../contract/campaign.ts";
import type { Cell } from "../../contract/cell.ts";
import { errorsAlongHeading, type RunEvaluation } from "../../contract/evaluation.ts";
import { addedWeightsOf } from "../../contract/ledger.ts";
import { defaultSettings, type Settings } from "../../contract/settings.ts";
import { acceptFindings } from "./acceptFindings.ts";
import { type AuditedCampaign, doubt, gramsText, labelOf, note } from "./auditFinding.ts";
import { auditOrder } from "./auditOrder.ts";
import { batteryFindings } from "./batteryFindings.ts";
import { blockFindings, driftFindings } from "./blockFindings.ts";
import { configurationTable, shamContrasts } from "./configurationTable.ts";
import { lossFindings } from "./lossFindings.ts";
import { massFindings } from "./massFindings.ts";
import { orderFindings } from "./orderFindings.ts";
import { differingParameters, type RunParameters, settingFindings, validFindings } from "./settingFindings.ts";

/** Welch's test at 3 v 3 and again after each further pair up to 10 v 10: shares of false alarms. Simulated by the tests. */
const example =
  "a test made at 3 v 3 and after each further pair up to 10 v 10 gives a false alarm in about 14 of 100 campaigns in which nothing differs, not in 5";

/**
 * `many-looks`: the verdicts were looked at before, resting on something else (src/pipeline/lookGrounds.ts). How much
 * that inflates false alarms depends on what was changed and why, which no tool can see: a note, from the count in the
 * settings on a doubt.
 */
function lookFindings({ settings, campaign }: AuditedCampaign, count: number): AuditFinding[] {
  // what is paid for makes no false alarm likelier
  if (count <= 1 || campaign.looks !== undefined) return [];
  const words = {
    message: `the verdicts were looked at ${count} times, with other runs or files, filed otherwise, or with other frames, another measure or another smallest difference: where flights were added, or choices changed, because of what was seen, false alarms are more frequent than the p values say (for comparison: ${example})`,
    evidence: { count },
    hint: "say how often it was looked, and why; better, fix the number of runs, metric and smallest difference before the flights and look once",
  };
  return [count >= settings.audit_many_looks ? doubt("many-looks", words) : note("many-looks", words)];
}

/** `thresholds-set`: what counts as a sound run was set by the manifest, not as it usually is. */
function thresholdFindings({ campaign }: AuditedCampaign): AuditFinding[] {
  const set = labThresholdNames.flatMap((name) => {
    const value = campaign.thresholds[name];
    return value === undefined || value === defaultSettings[name]
      ? []
      : [{ name, value, usual: defaultSettings[name] }];
  });
  if (set.length === 0) return [];
  const words = set.map(
    ({ name, value, usual }) => `${name} ${thresholdText(name, value)} (usually ${thresholdText(name, usual)})`,
  );
  return [
    note("thresholds-set", {
      message: `the manifest sets ${set.length === 1 ? "a threshold" : `${set.length} thresholds`}: ${words.join(", ")}`,
      evidence: Object.fromEntries(set.map(({ name, value, usual }) => [name, [value, usual]])),
      hint: "say why beside the verdict, and whether it was set before the answer was seen",
    }),
  ];
}

/**
 * What else than the counterweights could have made the difference: blocks, order and drift, battery, mass, lost runs, valid
 * samples, looks, and with a sham what the mass alone does. It looks at the runs as filed and as used; verdicts are not changed.
 *
 * @param runs   all runs of the evaluation, in the manifest's order
 * @param cells  of the same runs (`compareCampaign`)
 * @param looks  how often the verdicts were looked at, this time included
 * @param parameters  settings of the autopilot by run, where its log keeps them
 * @returns findings: doubts first, each kind in a fixed order
 * @source design, section 1 (row 10) and section 6 (10, 11); each part names its own
 */
export function auditCampaign(
  campaign: Campaign,
  runs: readonly RunEvaluation[],
  cells: readonly Cell[],
  looks: { readonly count: number },
  settings: Settings,
  parameters: RunParameters = new Map(),
): Audit {
  const audited = auditedRuns(campaign, runs, cells, settings);
  const { layout, ...tables } = auditTables(audited, parameters);
  const findings = [
    ...layout.flown,
    ...driftFindings(audited, tables.order),
    ...layout.carried,
    ...thresholdFindings(audited),
    ...acceptFindings(audited),
    ...lookFindings(audited, looks.count),
  ];
  return { ...tables, findings: doubtsFirst(findings) };
}

/**
 * The audit of the design alone, as it can be made before any difference is known: blocks, order, battery, mass, lost runs and
 * valid samples, and what is accepted of the findings shown. What is said run by run, and what rests on the errors (order with its drift, sham, how often a check fell on
 * a configuration), is left out, so that it shows nothing of which configuration is the steadier.
 */
export function auditDesign(
  campaign: Campaign,
  runs: readonly RunEvaluation[],
  settings: Settings,
  parameters: RunParameters = new Map(),
): Audit {
  const audited = auditedRuns(campaign, runs, [], settings);
  const { layout, blocks, configurations, parameters: differing } = auditTables(audited, parameters);
  const findings = doubtsFirst([
    ...layout.flown,
    ...layout.carried,
    ...thresholdFindings(audited),
    ...acceptFindings(audited, "met"),
  ]);
  return {
    blocks,
    order: [],
    configurations: Object.fromEntries(
      Object.entries(configurations).map(([key, table]) => [key, { ...table, checks: {} }]),
    ),
    sham: [],
    parameters: differing,
    // evidence lists runs in the order of their configurations
    findings: findings.map((finding) => ({ ...finding, evidence: {} })),
  };
}

function auditedRuns(
  campaign: Campaign,
  runs: readonly RunEvaluation[],
  cells: readonly Cell[],
  settings: Settings,
): AuditedCampaign {
  const used = runs.filter((run) => run.used);
  const pair = used.filter(
    ({ configuration, trajectory }) =>
      (configuration === campaign.baseline || configuration === campaign.candidate) &&
      campaign.trajectories[trajectory] !== undefined,
  );
  return { campaign, runs, used, pair, cells, settings };
}

/** The tables, and the findings of the design: how it was flown, and what was carried, lost and set. */
function auditTables(
  audited: AuditedCampaign,
  parameters: RunParameters,
): Omit<Audit, "findings"> & { readonly layout: Readonly<Record<"flown" | "carried", AuditFinding[]>> } {
  const { order, flown } = auditOrder(audited);
  const configurations = configurationTable(audited);
  const sham = shamContrasts(audited);
  const differing = differingParameters(audited.used, parameters);
  return {
    blocks: blockTable(audited),
    order,
    configurations,
    sham,
    parameters: differing,
    layout: {
      flown: [...blockFindings(audited), ...orderFindings(audited, order, flown)],
      carried: [
        ...batteryFindings(audited, flown),
        ...massFindings(audited, configurations),
        ...lossFindings(audited, configurations),
        ...validFindings(audited),
        ...settingFindings(audited, differing, parameters.size),
        ...shamFindings(audited, { configurations, sham }),
      ],
    },
  };
}

function doubtsFirst(findings: readonly AuditFinding[]): AuditFinding[] {
  return (["doubt", "note"] as const).flatMap((grave) => findings.filter(({ severity }) => severity === grave));
}

/** Runs per trajectory, block and configuration, filed and used; blocks as they appear, runs without one in a row of their own. */
function blockTable({ campaign, runs }: AuditedCampaign): Audit["blocks"] {
  return Object.keys(campaign.trajectories).flatMap((trajectory) => {
    const own = runs.filter((run) => run.trajectory === trajectory);
    return [...new Set(own.map(({ block }) => block))].map((block) => {
      const inBlock = own.filter((run) => run.block === block);
      const configurations: Audit["blocks"][number]["configurations"] = {};
      for (const key of Object.keys(campaign.configurations)) {
        const filed = inBlock.filter(({ configuration }) => configuration === key);
        if (filed.length === 0) continue;
        const used = filed.filter((run) => run.used);
        configurations[key] = { filed: filed.length, used: used.length, heading: meanHeading(used) };
      }
      return { trajectory, block, configurations };
    });
  });
}

/** Circular mean of the runs' headings; null where none is known, or they face all ways (mean resultant below 0.9). */
function meanHeading(runs: AuditedCampaign["runs"]): number | null {
  const yaws = runs.flatMap(({ heading }) => heading?.yaw ?? []);
  const sine = yaws.reduce((sum, yaw) => sum + Math.sin(yaw), 0);
  const cosine = yaws.reduce((sum, yaw) => sum + Math.cos(yaw), 0);
  return yaws.length > 0 && Math.hypot(sine, cosine) > 0.9 * yaws.length ? Math.atan2(sine, cosine) : null;
}

/** `sham-missing`: mass was added, and nothing flown tells whether it is the balance or the mass that makes the difference. */
function shamFindings(
  { campaign, used }: AuditedCampaign,
  { configurations, sham }: Pick<Audit, "configurations" | "sham">,
): AuditFinding[] {
  const addedBy = (key: string): number =>
    configurations[key]!.added_mass ?? addedWeightsOf(campaign.configurations[key]!);
  const heavier = addedBy(campaign.baseline) > addedBy(campaign.candidate) ? campaign.baseline : campaign.candidate;
  const added = addedBy(heavier);
  const declared = campaign.sham;
  if (sham.length > 0 || (declared === null && !(added > 0))) return [];
  const flown = declared !== null && used.some(({ configuration }) => configuration === declared);
  const why =
    declared === null
      ? "no configuration with the same mass at the centre of mass (`sham`) is declared"
      : flown
        ? `no used run with ${labelOf(campaign, declared)} has a number for a cell of the family`
        : `no run with ${labelOf(campaign, declared)} could be used`;
  const mass = added > 0 ? `${labelOf(campaign, heavier)} adds ${gramsText(added)}, and ` : "";
  // computed is not flown: it takes the controller to answer a heavier vehicle alike
  const weighed = (name: string): number =>
    used.filter(
      ({ configuration, moving }) =>
        configuration === name &&
        [moving?.x, moving?.y].some((harmonics) => harmonics?.some(({ apparent_mass: mass }) => mass !== null)),
    ).length;
  // of one run there is no interval; and errors along the room's axes are not along those in which the arm moves the vehicle
  const computed =
    [campaign.baseline, campaign.candidate].every((name) => weighed(name) > 1) && used.every(errorsAlongHeading);
  const rests = computed
    ? "what balance and what mass did of a difference is computed from what moves and from the take-off masses (under Why), and was not flown"
    : "whether the vehicle is steadier because it is balanced or because it is heavier is not known";
  return [
    note("sham-missing", {
      message: `${mass}${why}: ${rests}`,
      evidence: { sham: declared, added_mass: added },
      hint: "fly the same mass at the centre of mass as a third configuration and declare it as `sham`, mechanically retained like the counterweights",
    }),
  ];
}
