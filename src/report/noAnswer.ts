import type { Cell } from "../contract/cell.ts";
import type { CampaignEvaluation } from "../contract/evaluation.ts";
import { leastRuns } from "./familyCells.ts";
import { namedConfigurations } from "./runGroups.ts";
import { quotedName } from "./text/nameText.ts";

/**
 * Why there is no answer at all, where no cell of the family has a verdict of weight: nothing filed, nothing usable, one
 * configuration only, too few runs throughout.
 *
 * @returns one sentence; null where some cell has a verdict
 */
export function noAnswer(evaluation: CampaignEvaluation, family: readonly Cell[]): string | null {
  if (family.some(({ verdict }) => verdict !== "too few runs")) return null;
  const { runs, settings } = evaluation;
  if (runs.length === 0) return "No verdict: no run is filed.";
  const used = runs.filter((run) => run.used);
  if (used.length === 0)
    return runs.length === 1
      ? "No verdict: the one run that is filed was left out."
      : `No verdict: all ${runs.length} runs were left out.`;
  const sides = [settings.baseline, settings.candidate].map((key) => ({
    label: quotedName(namedConfigurations(evaluation).find((named) => named.key === key)?.label ?? key),
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
  const least = leastRuns(evaluation);
  if (family.every(({ baseline, candidate }) => baseline.n >= least && candidate.n >= least))
    return `No verdict: in all ${family.length} cells the runs do not differ at all among themselves, so there is no noise to hold a difference against.`;
  const range = (side: "baseline" | "candidate"): string => {
    const counts = family.map((cell) => cell[side].n);
    const [fewest, most] = [Math.min(...counts), Math.max(...counts)];
    return fewest === most ? `${most}` : `${fewest} to ${most}`;
  };
  return `No verdict: too few runs. Each trajectory needs at least ${least} runs of each configuration; there are ${range("baseline")} with ${sides[0]!.label} and ${range("candidate")} with ${sides[1]!.label}.`;
}
