import type { RunCheck } from "../contract/evaluation.ts";
import { shortName } from "./text/nameText.ts";

type Lost = { readonly id: string; readonly checks: readonly Pick<RunCheck, "code" | "severity" | "message">[] };

/**
 * Why no run could be used: the check that made most of them unusable, with its message in the first. For an evaluation and a
 * check alike.
 *
 * @param runs  every one of them unusable
 */
export function nothingUsable(runs: readonly Lost[]): string {
  const found = runs.flatMap(({ id, checks }) => {
    const grave = checks.filter(({ severity }) => severity === "unusable");
    return [...new Map(grave.map((check) => [check.code, { run: id, ...check }])).values()];
  });
  const count = (code: string): number => found.filter((check) => check.code === code).length;
  const worst = found.reduce((a, b) => (count(b.code) > count(a.code) ? b : a));
  const first = `${shortName(worst.run)}: ${worst.message}`;
  if (runs.length === 1) return `the one run that is filed cannot be used, for ${worst.code} (${first}).`;
  const many = count(worst.code) === runs.length ? "all of them" : `${count(worst.code)} of them`;
  return `none of the ${runs.length} runs can be used, ${many} for ${worst.code} (${first}).`;
}
