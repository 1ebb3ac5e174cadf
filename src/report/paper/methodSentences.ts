import { measureOf } from "../../catalogue/measures.ts";
import type { CampaignEvaluation } from "../../contract/evaluation.ts";
import { joinWords } from "../../words/amounts.ts";
import { familyCells, namedConfigurations } from "../runGroups.ts";
import { smallestText } from "../smallestText.ts";
import { countRange, fixed } from "../text/numbers.ts";

/**
 * How the numbers were made, in sentences that can stand in a paper, each from the settings of this evaluation; and where the methods
 * come from.
 */
export function methodSentences(evaluation: CampaignEvaluation): string[] {
  const { settings, looks, noise, tool, runs } = evaluation;
  const family = familyCells(evaluation);
  const label = (key: string): string => namedConfigurations(evaluation).find((one) => one.key === key)?.label ?? key;
  const used = runs.filter((run) => run.used);
  const count = (key: string): number => used.filter(({ configuration }) => configuration === key).length;
  const blocks = new Set(used.map(({ block }) => block).filter((block) => block !== null)).size;
  const blocked = family.some(({ method }) => method === "blocked");
  const declared =
    looks.first === null ? "" : `, declared when the answer was first seen on ${looks.first.slice(0, 10)}`;
  const cycles = Object.values(settings.common_cycles).filter((each) => each !== null);
  return [
    `A run is one flight of a trajectory in one configuration; ${count(settings.candidate)} with ${label(settings.candidate)} and ${count(settings.baseline)} with ${label(settings.baseline)} were used${blocks > 1 ? `, in ${blocks} blocks` : ""}. Samples and cycles are never counted as replicates: each run gives one number per cell.`,
    `The primary measure is ${measureOf(settings.primary).label}, of motion capture less command over whole cycles${cycles.length === 0 ? "" : ` (${countRange(cycles)} common to all runs of a trajectory)`}; no filter was applied, and nothing was filled in.`,
    `The smallest difference that matters is ${smallestText(family)}${declared}.`,
    `Differences are ${settings.candidate === "" ? "" : "candidate less baseline, "}${blocked ? "taken within blocks, with a variance pooled over blocks and configurations" : "of the means, with Welch's degrees of freedom"}; intervals are at ${fixed(100 * settings.thresholds.interval_level!, 0)} %; ratios have Fieller's interval. The ${family.length} cells of the family share one error rate by Holm's procedure; no difference that matters is claimed by two one-sided tests at the 90 % interval.`,
    clockSentence(evaluation),
    noise?.source === "static"
      ? "The noise of the capture is that of static captures, props off."
      : noise?.source === "in flight"
        ? "The noise of the capture was estimated in flight, from what is faster than the vehicle can move."
        : "",
    `Computed by ${tool.name} ${tool.version}${tool.commit === null ? "" : `, commit ${tool.commit}`}${tool.parts === null ? "" : `, build ${tool.parts}`}; random numbers are drawn from fixed seeds, so that the same inputs give the same figures.`,
  ].filter((sentence) => sentence !== "");
}

function clockSentence({ runs }: CampaignEvaluation): string {
  const clocks = runs.filter((run) => run.used).flatMap((run) => Object.entries(run.clocks ?? {}));
  const names = [...new Set(clocks.map(([name]) => name))];
  const stated = names.flatMap((name) => {
    const own = clocks.filter(([each]) => each === name).map(([, clock]) => clock);
    const errors = own.map(({ offset_se: error }) => error).filter((error) => error !== null);
    const sources = [...new Set(own.map(({ source }) => source))];
    const size = errors.length === 0 ? "" : `, standard error up to ${fixed(1000 * Math.max(...errors), 2)} ms`;
    return [`${name} (${joinWords(sources)}${size})`];
  });
  return stated.length === 0 ? "All signals are on one clock." : `Clocks were joined run by run: ${stated.join("; ")}.`;
}

/** Where the methods come from. */
export const methodSources: readonly string[] = [
  "Welch, B. L. (1947). The generalization of 'Student's' problem when several different population variances are involved. Biometrika 34, 28-35.",
  "Fieller, E. C. (1954). Some problems in interval estimation. Journal of the Royal Statistical Society B 16, 175-185.",
  "Holm, S. (1979). A simple sequentially rejective multiple test procedure. Scandinavian Journal of Statistics 6, 65-70.",
  "Schuirmann, D. J. (1987). A comparison of the two one-sided tests procedure and the power approach for assessing the equivalence of average bioavailability. Journal of Pharmacokinetics and Biopharmaceutics 15, 657-680.",
  "ISO 9283:1998. Manipulating industrial robots: performance criteria and related test methods.",
];
