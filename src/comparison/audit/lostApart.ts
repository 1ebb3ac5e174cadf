import type { Settings } from "../../contract/settings.ts";
import { fisherExact } from "./fisherExact.ts";

/** How many of a configuration's runs were lost, out of how many. */
export type Lost = readonly [lost: number, of: number];

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
