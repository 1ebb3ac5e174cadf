import { isUntested } from "../catalogue/verdicts.ts";
import type { Cell } from "../contract/cell.ts";
import type { CampaignEvaluation, RunCheck } from "../contract/evaluation.ts";
import { trajectoriesOf, trajectoriesText } from "./cellPlaces.ts";
import { countsText, enteringRuns, hasStrays, isUnusable, leastRuns, quotedConfiguration } from "./runGroups.ts";
import { shortName } from "./text/nameText.ts";
import { allOf, countRange } from "./text/numbers.ts";

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

/**
 * Why there is no answer at all, where no cell of the family has a verdict of weight: nothing filed, nothing usable, one
 * configuration only, too few runs throughout.
 *
 * @returns a sentence or two; null where some cell has a verdict
 */
export function noAnswer(evaluation: CampaignEvaluation, family: readonly Cell[]): string | null {
  if (!family.every(({ verdict }) => isUntested(verdict))) return null;
  const { runs, settings } = evaluation;
  if (runs.length === 0) return "No verdict: no run is filed.";
  const used = runs.filter((run) => run.used);
  if (used.length === 0 && runs.every(isUnusable)) return `No verdict: ${nothingUsable(runs)}`;
  if (used.length === 0)
    return runs.length === 1
      ? "No verdict: the one run that is filed was left out."
      : `No verdict: ${allOf(runs.length, "run", "runs")} were left out.`;
  const sides = [settings.baseline, settings.candidate].map((key) => ({
    label: quotedConfiguration(evaluation, key),
    filed: runs.some((run) => run.configuration === key),
    count: used.filter((run) => run.configuration === key).length,
  }));
  const without = sides.filter(({ count }) => count === 0);
  if (without.length === 2)
    return `No verdict: no used run belongs to ${sides[0]!.label} or to ${sides[1]!.label}, the two that are to be compared.`;
  if (without.length === 1) {
    const { label, filed } = without[0]!;
    const other = sides.find(({ count }) => count > 0)!;
    return `No verdict: ${filed ? `all runs with ${label} were left out` : `no run with ${label} is filed`}, so ${other.label} has nothing to be compared with.`;
  }
  if (family.length === 0) return "No verdict: the evaluation holds no comparison of the configurations.";
  const few = family.filter(({ verdict }) => verdict === "too few runs");
  if (few.length === 0)
    return `No verdict: in ${allOf(family.length, "cell", "cells")} the runs do not differ at all among themselves, so there is no noise to hold a difference against.`;
  const [baseline, candidate] = (["baseline", "candidate"] as const).map((side) =>
    countRange(few.map((cell) => cell[side].n)),
  );
  const there = `there are ${baseline} with ${sides[0]!.label} and ${candidate} with ${sides[1]!.label}`;
  const still = few.length < family.length ? " Where there are more, they do not differ at all among themselves." : "";
  return `No verdict: too few runs. Each trajectory needs at least ${leastRuns(evaluation)} runs of each configuration; ${there}${strayText(evaluation, few)}.${still}`;
}

/** Of the runs that there are only some can be compared, those in blocks that hold both configurations; "" where all can. */
function strayText(evaluation: CampaignEvaluation, few: readonly Cell[]): string {
  const strayed = few.filter((cell) => hasStrays(cell, evaluation));
  if (strayed.length === 0) return "";
  const [names, all] = [trajectoriesOf(strayed), trajectoriesOf(few)];
  const where = names.length === all.length ? "" : ` ${trajectoriesText(names, all)}`;
  const counts = countsText(strayed.map((cell) => enteringRuns(cell, evaluation)));
  return `, but${where} only ${counts} stand in blocks that hold both; fly both in every block`;
}

/** Ends every text about flights. */
export const caution =
  "Counterpoise judges logs. It never says that a vehicle is safe to fly: local aviation rules, site procedures and licensed practice prevail.";
