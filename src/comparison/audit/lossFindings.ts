import type { Audit, AuditFinding } from "../../contract/audit.ts";
import type { Settings } from "../../contract/settings.ts";
import { CounterpoiseError } from "../../foundation/errors.ts";
import { type AuditedCampaign, doubt, labelOf, probabilityText } from "./auditFinding.ts";

/** Tables as likely as the one at hand, but for rounding, count with it (as in R's `fisher.test`). */
const tie = 1 + 1e-7;

/**
 * Fisher's exact test of two shares: how often chance alone, with the same totals, gives a table no likelier than this one.
 * Two-sided.
 *
 * @param first   how many of the first group have it, and how many it is in all
 * @param second  the same of the second group
 * @returns 0 to 1; 1 where all or none have it
 * @throws CounterpoiseError  code `not-a-count`: not whole, below 0, or more that have it than there are
 * @source R. A. Fisher, J. R. Stat. Soc. 98 (1935) 39-82; two-sided by the tables' probabilities
 * @example fisherExact([0, 4], [4, 4]) // => 2 / 70
 */
export function fisherExact(first: readonly [number, number], second: readonly [number, number]): number {
  for (const [have, all] of [first, second]) {
    if (Number.isInteger(have) && Number.isInteger(all) && have >= 0 && have <= all) continue;
    throw new CounterpoiseError("not-a-count", `fisherExact requires counts, found ${have} of ${all}`);
  }
  const have = first[0] + second[0];
  const least = Math.max(0, have - second[1]);
  const most = Math.min(have, first[1]);
  // each table's weight from its neighbour's, in logarithms: no factorial is ever formed
  const logs = new Float64Array(most - least + 1);
  for (let k = least + 1; k <= most; k++) {
    const ratio = ((first[1] - k + 1) * (have - k + 1)) / (k * (second[1] - have + k));
    logs[k - least] = logs[k - least - 1]! + Math.log(ratio);
  }
  const largest = Math.max(...logs);
  const own = Math.exp(logs[first[0] - least]! - largest);
  let all = 0;
  let asFar = 0;
  for (const log of logs) {
    const weight = Math.exp(log - largest);
    all += weight;
    if (weight <= own * tie) asFar += weight;
  }
  return Math.min(1, asFar / all);
}

/** How many of a configuration's runs were lost, out of how many. */
type Lost = readonly [lost: number, of: number];

/**
 * Whether losses fall on one of two configurations more than chance would have it: Fisher's exact test, two-sided, below the p
 * in the settings; and, whatever the test says of few runs, where one has lost the share in the settings or more and the other
 * none.
 *
 * @returns p, and which of the two rules speaks; `rule` null where neither does
 */
export function lostApart(
  first: Lost,
  second: Lost,
  settings: Pick<Settings, "audit_lost_p" | "audit_lost_share">,
): { readonly p: number; readonly rule: "chance" | "one side" | null } {
  const p = fisherExact(first, second);
  if (p < settings.audit_lost_p) return { p, rule: "chance" };
  const large = ([lost, of]: Lost): boolean => lost > 0 && lost >= settings.audit_lost_share * of;
  const none = ([lost, of]: Lost): boolean => lost === 0 && of > 0;
  const oneSided = (large(first) && none(second)) || (large(second) && none(first));
  return { p, rule: oneSided ? "one side" : null };
}

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
