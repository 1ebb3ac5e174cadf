import type { Audit, AuditFinding } from "../../contract/audit.ts";
import { addedWeightsOf } from "../../contract/ledger.ts";
import { median } from "../../numeric/descriptive.ts";
import { joinWords } from "../../words/amounts.ts";
import { type AuditedCampaign, doubt, gramsText, labelOf, note } from "./auditFinding.ts";

/**
 * Whether the vehicles weighed what the manifest says: `mass-unknown` where it cannot be known, `mass-apart` where weighed and
 * declared masses disagree, where counterweights do not make up the added mass, where the sham is not of the candidate's
 * mass, and where a run does not weigh what the others of its configuration do.
 */
export function massFindings(audited: AuditedCampaign, table: Audit["configurations"]): AuditFinding[] {
  return [
    ...unknown(audited, table),
    ...weighedApart(audited, table),
    ...declaredApart(audited, table),
    ...ledgerApart(audited, table),
    ...strangers(audited),
  ];
}

const weighAgain =
  "weigh the vehicle as flown, pack and counterweights included, and correct `takeoff_mass` or `added_mass`";

function unknown({ campaign, pair }: AuditedCampaign, table: Audit["configurations"]): AuditFinding[] {
  const { baseline, candidate } = campaign;
  const missing: string[] = [];
  if (table[candidate]!.added_mass === null) missing.push(`\`added_mass\` of ${labelOf(campaign, candidate)}`);
  const unweighed = [baseline, candidate].filter(
    (key) => table[key]!.takeoff_mass.n === 0 && pair.some(({ configuration }) => configuration === key),
  );
  if (unweighed.length > 0)
    missing.push(`\`takeoff_mass\` of the runs with ${joinWords(unweighed.map((key) => labelOf(campaign, key)))}`);
  if (missing.length === 0) return [];
  return [
    note("mass-unknown", {
      message: `not declared: ${joinWords(missing)}; whether the configurations differ by the mass they are said to cannot be checked`,
      evidence: { added_mass: table[candidate]!.added_mass, weighed_not: unweighed },
      hint: "weigh before each flight and give `takeoff_mass` with the run, `added_mass` with the configuration (0 g where nothing was added)",
    }),
  ];
}

/** Mean take-off mass over the baseline's, against the added mass. The baseline's own added mass counts too, 0 where not declared. */
function weighedApart({ campaign, settings }: AuditedCampaign, table: Audit["configurations"]): AuditFinding[] {
  const light = table[campaign.baseline]!;
  return [campaign.candidate, campaign.sham].flatMap((key): AuditFinding[] => {
    const heavy = key === null ? undefined : table[key];
    if (key === null || heavy === undefined || heavy.added_mass === null) return [];
    if (light.takeoff_mass.mean === null || heavy.takeoff_mass.mean === null) return [];
    const weighed = heavy.takeoff_mass.mean - light.takeoff_mass.mean;
    const declared = heavy.added_mass - (light.added_mass ?? 0);
    // a lone weighing shows no spread: the other configuration's stands for it
    const spread = (own: typeof light, other: typeof light): number =>
      (own.takeoff_mass.sd ?? other.takeoff_mass.sd ?? 0) ** 2 / own.takeoff_mass.n;
    const error = Math.sqrt(spread(light, heavy) + spread(heavy, light));
    const limit = Math.max(settings.audit_mass, settings.audit_mass_errors * error);
    if (Math.abs(weighed - declared) <= limit) return [];
    return [
      doubt("mass-apart", {
        message: `${labelOf(campaign, key)} weighed ${moreText(weighed)} than ${labelOf(campaign, campaign.baseline)} at take-off, by the mean of the used runs; declared is ${moreText(declared)}`,
        evidence: { configuration: key, weighed, declared, standard_error: error, limit },
        hint: weighAgain,
      }),
    ];
  });
}

function moreText(mass: number): string {
  return `${gramsText(Math.abs(mass))} ${mass < 0 ? "less" : "more"}`;
}

function declaredApart({ campaign, settings }: AuditedCampaign, table: Audit["configurations"]): AuditFinding[] {
  const findings: AuditFinding[] = [];
  for (const [key, { added_mass: added }] of Object.entries(table)) {
    const own = campaign.configurations[key]!;
    const weights = addedWeightsOf(own);
    // parts that were only moved make up no added mass, and need none
    const moved = own.counterweights.every(({ movedFrom }) => movedFrom !== undefined);
    if (added === null || moved || Math.abs(added - weights) <= settings.audit_mass) continue;
    const words = {
      message: `the counterweights of ${labelOf(campaign, key)} are declared with ${gramsText(weights)} together, its added mass with ${gramsText(added)}`,
      evidence: { configuration: key, counterweights: weights, added_mass: added },
    };
    findings.push(
      weights > added
        ? doubt("mass-apart", {
            ...words,
            hint: "counterweights cannot weigh more than what was added: correct one of the two",
          })
        : note("mass-apart", {
            ...words,
            hint: "right where brackets and screws make up the rest; else correct one of the two",
          }),
    );
  }
  const sham = campaign.sham === null ? null : (table[campaign.sham]?.added_mass ?? null);
  const candidate = table[campaign.candidate]!.added_mass;
  if (campaign.sham !== null && sham !== null && candidate !== null && Math.abs(sham - candidate) > settings.audit_mass)
    findings.push(
      doubt("mass-apart", {
        message: `${labelOf(campaign, campaign.sham)} adds ${gramsText(sham)}, ${labelOf(campaign, campaign.candidate)} ${gramsText(candidate)}: their difference holds mass as well as balance`,
        evidence: { configuration: campaign.sham, sham, candidate },
        hint: "give the sham the counterweights' mass",
      }),
    );
  return findings;
}

/**
 * The parts against the take-off mass of the baseline. A ledger that lists parts at rest is meant to be of the whole, and must make
 * up the mass; one of what moves alone must not exceed it.
 */
function ledgerApart({ campaign, settings }: AuditedCampaign, table: Audit["configurations"]): AuditFinding[] {
  const { parts = [], baseline, vehicle } = campaign;
  const own = table[baseline]!;
  const mass = own.takeoff_mass.mean ?? (vehicle?.mass == null ? null : vehicle.mass + (own.added_mass ?? 0));
  if (parts.length === 0 || mass === null) return [];
  const sum = parts.reduce((total, part) => total + part.mass, addedWeightsOf(campaign.configurations[baseline]!));
  const whole = parts.some(({ travel }) => travel.every((along) => along === 0));
  const apart = sum / mass - 1;
  if (apart <= settings.cost_ledger && (!whole || apart >= -settings.cost_ledger)) return [];
  return [
    doubt("mass-apart", {
      message: `the \`parts\` make ${gramsText(sum)} together, ${labelOf(campaign, baseline)} weighs ${gramsText(mass)} at take-off (${apart < 0 ? "-" : "+"}${(100 * Math.abs(apart)).toFixed(1)} %)`,
      evidence: { parts: sum, mass, share: apart },
      hint:
        apart < 0
          ? "list what is missing (one part at rest for all of it will do), or weigh again"
          : "a part is listed twice, or is too heavy: correct it, or weigh again",
    }),
  ];
}

/** Used runs that weigh otherwise than the middle of their configuration's other runs, of which there are two at least. */
function strangers({ campaign, used, settings }: AuditedCampaign): AuditFinding[] {
  const weighed = used.filter((run): run is typeof run & { takeoff_mass: number } => run.takeoff_mass !== null);
  return weighed.flatMap((run): AuditFinding[] => {
    const others = (configuration: string): number[] =>
      weighed
        .filter((other) => other !== run && other.configuration === configuration)
        .map(({ takeoff_mass }) => takeoff_mass);
    const like = others(run.configuration);
    if (like.length < 2) return [];
    const usual = median(Float64Array.from(like));
    if (Math.abs(run.takeoff_mass - usual) <= settings.audit_mass_outlier * usual) return [];
    const limit = settings.audit_mass_outlier * usual;
    const alike = Object.keys(campaign.configurations).find((key) => {
      const masses = key === run.configuration ? [] : others(key);
      return masses.length > 0 && Math.abs(median(Float64Array.from(masses)) - run.takeoff_mass) <= limit;
    });
    return [
      doubt("mass-apart", {
        message: `run ${run.id} weighed ${gramsText(run.takeoff_mass)} at take-off, the other runs with ${labelOf(campaign, run.configuration)} ${gramsText(usual)} (median)${alike === undefined ? "" : `; ${labelOf(campaign, alike)} weighs as much`}`,
        evidence: { run: run.id, mass: run.takeoff_mass, usual, like: alike ?? null },
        hint:
          alike === undefined
            ? weighAgain
            : "was it filed under the right configuration? Else correct its `takeoff_mass`",
      }),
    ];
  });
}
