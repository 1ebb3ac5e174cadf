import type { PermutationResult } from "../../src/comparison/permutationTest.ts";
import type { CellAnswer } from "../../src/contract/api/cellAnswers.ts";

const mostBins = 61;

/**
 * The permutation distribution as a histogram: bins of equal width, even about 0, so that an arrangement and its mirror lie
 * alike. In each, how many arrangements are at least as extreme as the one flown; for an exact test these add up to p times
 * the arrangements.
 */
export function permutationBins(result: PermutationResult): NonNullable<CellAnswer["permutation"]> {
  const { differences, observed, p, leastP, arrangements, exact } = result;
  let reach = Math.abs(observed);
  for (let i = 0; i < differences.length; i++) reach = Math.max(reach, Math.abs(differences[i]!));
  // an odd number, so that 0 lies in the middle of a bin
  const bins = Math.min(mostBins, 2 * Math.ceil(Math.sqrt(arrangements)) + 1);
  const width = (2 * reach) / bins || Number.MIN_VALUE;
  const counts = new Array<number>(bins).fill(0);
  const extreme = new Array<number>(bins).fill(0);
  for (const at of asExtreme(result)) extreme[binOf(differences[at]!, reach, width, bins)]!++;
  for (let i = 0; i < differences.length; i++) counts[binOf(differences[i]!, reach, width, bins)]!++;
  return {
    observed,
    edges: Array.from({ length: bins + 1 }, (_, k) => (k === bins ? reach : k * width - reach)),
    counts,
    extreme,
    arrangements,
    exact,
    p,
    p_least: leastP,
  };
}

function binOf(value: number, reach: number, width: number, bins: number): number {
  return Math.min(bins - 1, Math.max(0, Math.floor((value + reach) / width)));
}

/** The arrangements that the test counted: the b most extreme, b from its p, so that rounding cannot part the two. */
function asExtreme({ differences, p, exact }: PermutationResult): number[] {
  const counted = Math.round(exact ? p * differences.length : p * (differences.length + 1) - 1);
  const order = Array.from(differences.keys()).sort((a, b) => Math.abs(differences[b]!) - Math.abs(differences[a]!));
  return order.slice(0, counted);
}
