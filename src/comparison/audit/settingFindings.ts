import type { Audit, AuditFinding } from "../../contract/audit.ts";
import { joinWords } from "../../words/lists.ts";
import { type AuditedCampaign, doubt, note } from "./auditFinding.ts";
import { labelOf } from "./auditWords.ts";

/** At most this many settings are named in a sentence; all stand in `audit.parameters`. */
const mostNamed = 6;

/**
 * Whether the autopilot was set otherwise for one configuration (`settings-apart`): gains that were tuned again are part of what
 * is compared, whatever the difference is called. Settings that only vary within configurations are a note.
 *
 * @param differing  settings that are not the same in all used runs
 * @param known      runs whose logs keep settings
 */
export function settingFindings(
  { campaign, used }: AuditedCampaign,
  differing: Audit["parameters"],
  known: number,
): AuditFinding[] {
  const { baseline, candidate } = campaign;
  const apart = differing.filter(({ configurations }) => {
    const [a, b] = [configurations[baseline] ?? [], configurations[candidate] ?? []];
    return a.length > 0 && b.length > 0 && !a.some((value) => b.includes(value));
  });
  const named = (settings: Audit["parameters"]): string => {
    const texts = settings.slice(0, mostNamed).map(({ name, configurations }) => {
      const values = [baseline, candidate].map((configuration) => valuesText(configurations[configuration] ?? []));
      return `${name} (${values.join(" against ")})`;
    });
    const rest = settings.length - texts.length;
    return `${joinWords(texts)}${rest > 0 ? ` and ${rest} more` : ""}`;
  };
  if (apart.length > 0) {
    return [
      doubt("settings-apart", {
        message: `the autopilot was set otherwise with ${labelOf(campaign, candidate)} than with ${labelOf(campaign, baseline)}: ${named(apart)}; what is compared is both together`,
        evidence: { settings: apart.map(({ name }) => name), differing: apart.length, runs_with_settings: known },
        hint: "fly both configurations with the same settings, or tune both by the same procedure and say so",
      }),
    ];
  }
  const varied = differing.filter(({ configurations }) =>
    [baseline, candidate].some((configuration) => (configurations[configuration] ?? []).length > 1),
  );
  if (varied.length === 0) return [];
  return [
    note("settings-apart", {
      message: `settings of the autopilot changed between runs of one configuration: ${named(varied)}`,
      evidence: {
        settings: varied.map(({ name }) => name),
        differing: varied.length,
        runs_with_settings: known,
        runs: used.length,
      },
      hint: "calibrations change by themselves; gains do not: keep them for the whole campaign",
    }),
  ];
}

function valuesText(values: readonly number[]): string {
  if (values.length === 0) return "none";
  return values
    .slice(0, 3)
    .map((value) => String(Number(value.toPrecision(6))))
    .join(" or ");
}
