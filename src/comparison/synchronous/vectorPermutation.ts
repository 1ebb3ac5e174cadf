import { binomial } from "../../numeric/leastSquares.ts";
import { choleskyFactor } from "../../numeric/symmetricMatrix.ts";
import { type PositionBook, subsetSums } from "../permutationSums.ts";
import { aboutBlocks, contrastOf, scatterOf } from "./hotelling.ts";
import type { ComparedVectors } from "./meanVectors.ts";

export interface VectorPermutation {
  readonly p: number;
  readonly leastP: number;
  readonly arrangements: number;
  readonly exact: boolean;
}

/** A block of which the labels can be exchanged: its runs' vectors, and how many are the candidate's. */
interface Part {
  readonly columns: readonly Float64Array[];
  readonly picks: number;
}

/**
 * Permutation of the labels within blocks, with Hotelling's T^2 as what is compared: in how many of the ways in which the
 * same numbers of runs per block could have been labelled is T^2 at least as large as flown?
 *
 * The scatter T about the blocks' means stays the same under every relabelling, and T^2 = df Q/(1 - Q) grows with
 *
 *   Q = S difference' T^-1 difference = |sum over the candidate's runs of u|^2/S,   u = L^-1 (vector - block mean), T = L L'
 *
 * so that an arrangement costs one sum of vectors. Exact up to `exactUpTo` arrangements, else `drawn` seeded ones with
 * (b + 1)/(m + 1), as `permutationTest` does.
 *
 * @returns null where the columns depend on one another, or a configuration has no run
 * @source as `permutationTest`; for T^2: F. Pesarin, Multivariate Permutation Tests (2001) (from memory)
 */
export function vectorPermutation(
  runs: ComparedVectors,
  options: {
    readonly exactUpTo: number;
    readonly drawn: number;
    readonly seed: number;
    readonly book: PositionBook;
  },
): VectorPermutation | null {
  const { columns, candidate, block, blocks, flown, flownBlocks } = runs;
  const p = columns.length;
  const factor = choleskyFactor(scatterOf(columns, block, blocks), p, 1e-10);
  if (factor === null) return null;
  const whitened = whiten(
    columns.map((column) => aboutBlocks(column, block, blocks)),
    factor,
  );
  const { size } = contrastOf(candidate, block, blocks);
  if (size === 0) return null;

  const parts: Part[] = [];
  const offset = new Float64Array(p);
  const chosen = new Float64Array(p);
  let mirrored = true;
  let possible = 1;
  for (let b = 0; b < flownBlocks; b++) {
    const members = Array.from(flown.keys()).filter((i) => flown[i] === b);
    const picked = members.filter((i) => candidate[i] === 1);
    const movable = picked.length > 0 && picked.length < members.length;
    const into = movable ? chosen : offset;
    for (const i of picked) for (let a = 0; a < p; a++) into[a]! += whitened[a]![i]!;
    if (movable ? 2 * picked.length !== members.length : members.length > 0) mirrored = false;
    if (!movable) continue;
    const sorted = members.sort((i, j) => whitened[0]![i]! - whitened[0]![j]! || whitened[1]![i]! - whitened[1]![j]!);
    parts.push({
      columns: whitened.map((column) => Float64Array.from(sorted, (i) => column[i]!)),
      picks: picked.length,
    });
    possible *= binomial(members.length, picked.length);
  }
  parts.sort((a, b) => a.columns[0]!.length - b.columns[0]!.length || a.picks - b.picks);
  const exact = possible <= options.exactUpTo;
  const sums = exact ? allSums(parts, p) : drawnSums(parts, p, options);
  const length = (at: (a: number) => number): number => {
    let square = 0;
    for (let a = 0; a < p; a++) square += (offset[a]! + at(a)) ** 2;
    return square;
  };
  // what is equal on paper differs by rounding; whitened vectors are of order 1
  const reach = length((a) => chosen[a]!) - 1e-9;
  const count = sums[0]!.length;
  let asExtreme = 0;
  for (let k = 0; k < count; k++) if (length((a) => sums[a]![k]!) >= reach) asExtreme++;
  return {
    p: exact ? asExtreme / count : (asExtreme + 1) / (count + 1),
    leastP: (mirrored && possible > 1 ? 2 : 1) / possible,
    arrangements: count,
    exact,
  };
}

/** L^-1 applied to every run's vector. */
function whiten(columns: readonly Float64Array[], factor: Float64Array): Float64Array[] {
  const p = columns.length;
  const out = columns.map((column) => column.slice());
  for (let i = 0; i < out[0]!.length; i++) {
    for (let a = 0; a < p; a++) {
      for (let b = 0; b < a; b++) out[a]![i]! -= factor[a * p + b]! * out[b]![i]!;
      out[a]![i]! /= factor[a * p + a]!;
    }
  }
  return out;
}

/** Sums over the candidates of every arrangement, one column per component in one and the same order. */
function allSums(parts: readonly Part[], p: number): Float64Array[] {
  return Array.from({ length: p }, (_, a) => {
    let sums = new Float64Array(1);
    for (const { columns, picks } of parts) {
      const own = subsetSums(columns[a]!, picks);
      const combined = new Float64Array(sums.length * own.length);
      let at = 0;
      for (const before of sums) for (const more of own) combined[at++] = before + more;
      sums = combined;
    }
    return sums;
  });
}

function drawnSums(
  parts: readonly Part[],
  p: number,
  { drawn, seed, book }: { readonly drawn: number; readonly seed: number; readonly book: PositionBook },
): Float64Array[] {
  const shapes = parts.map(({ columns, picks }) => ({ runs: columns[0]!.length, drawn: picks }));
  const positions = book.take(shapes, { draws: drawn, seed });
  return Array.from({ length: p }, (_, a) => {
    const sums = new Float64Array(drawn);
    for (const [b, { columns, picks }] of parts.entries()) {
      const column = columns[a]!;
      const own = positions[b]!;
      for (let draw = 0, at = 0; draw < drawn; draw++) {
        let sum = 0;
        for (const end = at + picks; at < end; at++) sum += column[own[at]!]!;
        sums[draw]! += sum;
      }
    }
    return sums;
  });
}
