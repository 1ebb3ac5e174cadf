import { binomial } from "../numeric/binomial.ts";
import { PositionBook } from "./drawPositions.ts";
import { type BlockPart, fewerOf, relabelling } from "./relabelling.ts";
import type { RunValues } from "./runValues.ts";
import { subsetSums } from "./subsetSums.ts";

export interface PermutationOptions {
  /** all arrangements are looked at up to this many */
  readonly exactUpTo: number;
  /** else this many are drawn */
  readonly drawn: number;
  readonly seed: number;
  /** keeps what was drawn for the next cell of the same numbers of runs */
  readonly book?: PositionBook;
}

export interface PermutationResult {
  /** two-sided */
  readonly p: number;
  /** the smallest p these runs could ever give */
  readonly leastP: number;
  /** arrangements looked at */
  readonly arrangements: number;
  readonly exact: boolean;
  /** the difference each arrangement gives, unit of the values */
  readonly differences: Float64Array;
  /** the difference as flown, computed in the same way */
  readonly observed: number;
}

/**
 * Permutation of the labels within blocks, free of the t distribution: in how many of the ways in which the same numbers of
 * runs per block could have been labelled is the |difference| at least as large as the one flown?
 *
 * Exact up to `exactUpTo` arrangements; above that `drawn` seeded ones with p = (b + 1)/(m + 1), since the one flown is an
 * arrangement too. A block that holds one configuration has one arrangement. The difference is that of
 * `estimateDifference`.
 *
 * The least p is 2/N for N arrangements where every block that is rearranged holds equal numbers of both (the mirrored
 * arrangement is as extreme), else 1/N.
 *
 * Cost: N, or `drawn` times the runs of the smaller sides.
 *
 * @param method  how the difference is taken: `blocked` leaves blocks with one configuration out
 * @throws CounterpoiseError  code `not-a-seed`
 * @source R. A. Fisher, The Design of Experiments (1935), ch. III; B. Phipson, G. K. Smyth, Stat. Appl. Genet. Mol. Biol. 9
 *         (2010) 39 ((b + 1)/(m + 1))
 */
export function permutationTest(
  runs: RunValues,
  method: "welch" | "blocked",
  options: PermutationOptions,
): PermutationResult {
  const { parts, chosen, offset, scale, mirrored } = relabelling(runs, method);
  let possible = 1;
  for (const { values, picks } of parts) possible *= binomial(values.length, picks);
  const leastP = (mirrored && possible > 1 ? 2 : 1) / possible;
  const exact = possible <= options.exactUpTo;
  const differences = exact ? allSums(parts) : drawnSums(parts, options);
  for (let i = 0; i < differences.length; i++) differences[i] = (differences[i]! + offset) / scale;
  const observed = (chosen + offset) / scale;

  // what is equal on paper differs by rounding, which grows with what was summed
  let magnitude = Math.abs(offset);
  for (const { values } of parts) for (const value of values) magnitude += Math.abs(value);
  const reach = Math.abs(observed) - (1e-12 * magnitude) / scale;
  let asExtreme = 0;
  for (const difference of differences) if (Math.abs(difference) >= reach) asExtreme++;
  const p = exact ? asExtreme / differences.length : (asExtreme + 1) / (differences.length + 1);
  return { p, leastP, arrangements: differences.length, exact, differences, observed };
}

/** Sums over the candidates of every arrangement. */
function allSums(parts: readonly BlockPart[]): Float64Array {
  let sums = new Float64Array(1);
  for (const { values, picks } of parts) {
    const own = subsetSums(values, picks);
    const combined = new Float64Array(sums.length * own.length);
    let at = 0;
    for (const before of sums) for (const more of own) combined[at++] = before + more;
    sums = combined;
  }
  return sums;
}

/** Sums over the candidates of arrangements drawn at random. */
function drawnSums(parts: readonly BlockPart[], { drawn: draws, seed, book }: PermutationOptions): Float64Array {
  const shapes = parts.map((part) => ({ runs: part.values.length, drawn: fewerOf(part) }));
  const positions = (book ?? new PositionBook()).take(shapes, { draws, seed });
  const sums = new Float64Array(draws);
  // the smaller side is drawn; where both are alike, the side that is the smaller one elsewhere, so that exchanging the
  // configurations mirrors every arrangement
  const lopsided = parts.find(({ values, picks }) => 2 * picks !== values.length);
  const candidatesFewer = lopsided === undefined || 2 * lopsided.picks < lopsided.values.length;
  for (const [b, part] of parts.entries()) {
    const { values, picks } = part;
    const { drawn } = shapes[b]!;
    let whole = 0;
    for (const value of values) whole += value;
    const own = positions[b]!;
    const drawsCandidates = 2 * picks === values.length ? candidatesFewer : 2 * picks < values.length;
    for (let draw = 0, at = 0; draw < draws; draw++) {
      // two sums side by side: additions that wait for one another would take twice as long
      let [even, odd] = [0, 0];
      const end = at + drawn;
      for (; at + 1 < end; at += 2) {
        even += values[own[at]!]!;
        odd += values[own[at + 1]!]!;
      }
      if (at < end) even += values[own[at++]!]!;
      const sum = even + odd;
      sums[draw]! += drawsCandidates ? sum : whole - sum;
    }
  }
  return sums;
}
