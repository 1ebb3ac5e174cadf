import { binomial } from "../numeric/leastSquares.ts";
import type { RunValues } from "./cellRuns.ts";
import { PositionBook, subsetSums } from "./permutationSums.ts";

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

/** A block whose labels can be exchanged. */
interface BlockPart {
  /** the runs' values, ascending, less the centre of `Relabelling` */
  readonly values: Float64Array;
  /** how many of them are labelled candidate */
  readonly picks: number;
}

/** What can be relabelled in a cell, and how the difference follows: (sum over the relabelled candidates + offset)/scale. */
interface Relabelling {
  /** blocks that hold both configurations, in an order that depends on their values alone */
  readonly parts: readonly BlockPart[];
  /** sum over the runs that are labelled candidate now, of those blocks */
  readonly chosen: number;
  readonly offset: number;
  readonly scale: number;
  /** the mirrored labels are an arrangement too, and as extreme */
  readonly mirrored: boolean;
}

/**
 * Reduces a difference to a sum over the candidate's runs, which is what permutation has to count.
 *
 *   within blocks:  difference = sum over blocks of (S_b - n1_b mean_b) / sum over blocks of n0_b n1_b/n_b
 *   of the means:   difference = (S - n1 T/n) (1/n0 + 1/n1)
 *
 * with S the sum over the candidate's runs (S_b in a block), T that over all. Values are taken about their block's mean, or
 * about T/n, so that a small difference of large values keeps its digits. Candidates in a block without a baseline run stay
 * where they are.
 *
 * Sorting makes what is drawn independent of the order and the names of runs and blocks.
 *
 * @param method  how the difference is taken: `blocked` leaves blocks with one configuration out
 */
function relabelling({ values, candidate, block, blocks }: RunValues, method: "welch" | "blocked"): Relabelling {
  const members: number[][] = Array.from({ length: blocks }, () => []);
  for (let i = 0; i < block.length; i++) members[block[i]!]!.push(i);
  const overall = centreOf(values);
  const parts: BlockPart[] = [];
  let [chosen, offset, within, candidates] = [0, 0, 0, 0];
  let mirrored = true;
  for (const runs of members) {
    const own = Float64Array.from(runs, (i) => values[i]!).sort();
    const centre = method === "blocked" ? centreOf(own) : overall;
    let picks = 0;
    let sum = 0;
    for (const i of runs) {
      if (candidate[i] === 0) continue;
      picks++;
      sum += values[i]! - centre.mean - centre.rest;
    }
    candidates += picks;
    const movable = picks > 0 && picks < own.length;
    // with runs that cannot move the mirrored labels give another difference of means
    if (movable ? 2 * picks !== own.length : method === "welch" && own.length > 0) mirrored = false;
    if (movable) {
      parts.push({ values: own.map((value) => value - centre.mean - centre.rest), picks });
      chosen += sum;
      within += (picks * (own.length - picks)) / own.length;
    } else if (method === "welch") offset += sum;
  }
  const scale = method === "blocked" ? within : 1 / (1 / candidates + 1 / (values.length - candidates));
  return { parts: parts.sort(byShapeThenValues), chosen, offset, scale, mirrored };
}

/** The smaller side of a block is what is drawn. */
function fewerOf({ values, picks }: BlockPart): number {
  return Math.min(picks, values.length - picks);
}

function byShapeThenValues(a: BlockPart, b: BlockPart): number {
  if (a.values.length !== b.values.length) return a.values.length - b.values.length;
  if (fewerOf(a) !== fewerOf(b)) return fewerOf(a) - fewerOf(b);
  const at = a.values.findIndex((value, i) => value !== b.values[i]);
  return at < 0 ? 0 : a.values[at]! - b.values[at]!;
}

/** The mean, and what its rounding leaves: of large values it hides the small ones' mirror images. */
function centreOf(values: Float64Array): { mean: number; rest: number } {
  const mean = sumOf(values) / values.length;
  return { mean, rest: sumOf(values.map((value) => value - mean)) / values.length };
}

function sumOf(values: Float64Array): number {
  let sum = 0;
  for (const value of values) sum += value;
  return sum;
}
