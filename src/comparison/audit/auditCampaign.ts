import type { Audit, AuditFinding } from "../../contract/audit.ts";
import type { Campaign } from "../../contract/campaign.ts";
import type { Cell } from "../../contract/cell.ts";
import type { RunEvaluation } from "../../contract/evaluation.ts";
import type { Settings } from "../../contract/settings.ts";
import { acceptFindings } from "./acceptFindings.ts";
import type { AuditedCampaign } from "./auditFinding.ts";
import { auditOrder } from "./auditOrder.ts";
import { batteryFindings } from "./batteryFindings.ts";
import { blockFindings } from "./blockFindings.ts";
import { blockTable } from "./blockTable.ts";
import { configurationTable } from "./configurationTable.ts";
import { differingParameters, type RunParameters } from "./differingParameters.ts";
import { driftFindings } from "./driftFindings.ts";
import { lookFindings } from "./lookFindings.ts";
import { lossFindings } from "./lossFindings.ts";
import { massFindings } from "./massFindings.ts";
import { orderFindings } from "./orderFindings.ts";
import { settingFindings } from "./settingFindings.ts";
import { shamContrasts } from "./shamContrasts.ts";
import { shamFindings } from "./shamFindings.ts";
import { validFindings } from "./validFindings.ts";

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
  const findings = doubtsFirst([...layout.flown, ...layout.carried, ...acceptFindings(audited, "met")]);
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
