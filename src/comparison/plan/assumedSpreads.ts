import type { Campaign } from "../../contract/campaign.ts";
import type { FlownCell } from "./flownCell.ts";

/** In parts of the smallest difference; in parts of the mean flown where none is declared. House values. */
const ofSmallest = [0.25, 0.5, 1, 2, 4];
const ofMean = [0.05, 0.1, 0.2, 0.3];

/** The smallest difference of the family: the least that its subjects declare. */
export function leastDeclared(campaign: Campaign, family: readonly FlownCell[]): number | null {
  const declared = family
    .map(({ described }) => campaign.smallestDifference[described.subject])
    .filter((difference) => difference !== null);
  return declared.length === 0 ? null : Math.min(...declared);
}

/**
 * Plausible spreads between runs, metres, where the runs have shown none: parts of the smallest difference, else of the mean of
 * the values flown (of the cells without a spread; where those were not flown, of all).
 *
 * @returns none where neither a smallest difference nor a run is there
 */
export function assumedSpreads(
  campaign: Campaign,
  family: readonly FlownCell[],
): { sds: readonly number[]; smallestDifference: number | null } {
  const smallestDifference = leastDeclared(campaign, family);
  if (smallestDifference !== null)
    return { sds: ofSmallest.map((part) => part * smallestDifference), smallestDifference };
  const unknown = family.filter(({ spread }) => spread === null).flatMap(({ values }) => values);
  const values = unknown.length > 0 ? unknown : family.flatMap((cell) => cell.values);
  const mean = values.reduce((sum, value) => sum + value / values.length, 0);
  return { sds: mean > 0 ? ofMean.map((part) => part * mean) : [], smallestDifference };
}
