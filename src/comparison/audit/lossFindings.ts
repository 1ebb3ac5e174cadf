import type { Audit, AuditFinding } from "../../contract/audit.ts";
import { type AuditedCampaign, doubt } from "./auditFinding.ts";
import { labelOf, probabilityText } from "./auditWords.ts";
import { type Lost, lostApart } from "./lostApart.ts";

/**
 * Whether the choice of runs could have made the difference: runs left out (`exclusions-apart`: unusable, or by a person) and
 * aborted runs (`aborts-apart`), where they fall on one configuration.
 */
export function lossFindings({ campaign, settings }: AuditedCampaign, table: Audit["configurations"]): AuditFinding[] {
  const { baseline, candidate } = campaign;
  const kinds = [
    {
      code: "exclusions-apart",
      what: "left out",
      count: (key: string): number => table[key]!.runs.unusable + table[key]!.runs.excluded,
      hint: "look whether the same rule was applied to both, and whether what made runs unusable is an effect of the configuration; compare with the verdict of all runs",
    },
    {
      code: "aborts-apart",
      what: "aborted",
      count: (key: string): number => table[key]!.runs.aborted,
      hint: "an abort is an outcome: report it beside the verdict, which rests on the flights that went well",
    },
  ] as const;
  return kinds.flatMap(({ code, what, count, hint }): AuditFinding[] => {
    const of = (key: string): Lost => [count(key), table[key]!.runs.filed];
    const { p, rule } = lostApart(of(baseline), of(candidate), settings);
    if (rule === null) return [];
    const stated = (key: string): string => `${of(key)[0]} of ${of(key)[1]} runs with ${labelOf(campaign, key)}`;
    const why =
      rule === "chance"
        ? `chance alone would part them so far with p ${probabilityText(p)} (Fisher)`
        : `so few runs prove nothing by themselves (p ${probabilityText(p)}, Fisher), but it falls on one configuration alone`;
    return [
      doubt(code, {
        message: `${stated(baseline)} and ${stated(candidate)} were ${what}: ${why}`,
        evidence: {
          baseline: of(baseline)[0],
          baseline_filed: of(baseline)[1],
          candidate: of(candidate)[0],
          candidate_filed: of(candidate)[1],
          p,
          rule,
        },
        hint,
      }),
    ];
  });
}
