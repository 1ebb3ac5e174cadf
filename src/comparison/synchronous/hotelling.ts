import { fUpperTail } from "../../numeric/fUpperTail.ts";
import { choleskyFactor, solveCholesky } from "../../numeric/symmetricMatrix.ts";
import type { ComparedVectors } from "./meanVectors.ts";

/** Hotelling's T^2 with its F. */
export interface HotellingTest {
  readonly t2: number;
  readonly f: number;
  readonly df1: number;
  readonly df2: number;
  /** probability of an F at least as large by chance */
  readonly p: number;
  /** of the difference, p x p, by which T^2 is its squared distance from zero */
  readonly covariance: Float64Array;
}

/** a column of which less than this part is its own nearly follows from the others */
const ownPart = 1e-10;

/**
 * Hotelling's two-sample test of a difference of mean vectors, within blocks where the runs are taken so: the multivariate
 * linear model vector = block + configuration. With d the configuration (0, 1) less its share of the block, S the sum of
 * d^2, W the residuals' covariance on n - B - 1 degrees of freedom
 *
 *   difference = sum(d vector)/S,   T^2 = S difference' W^-1 difference,
 *   F = T^2 (df - p + 1)/(p df) on p, df - p + 1,   df = n - B - 1
 *
 * With one block that is the textbook's T^2 = n0 n1/n difference' W^-1 difference. Both configurations are taken to scatter
 * alike; the permutation beside it does not need that of the normal law, but needs it too.
 *
 * @returns the difference, and null for the test where df < p or the columns depend on one another
 * @source H. Hotelling, Ann. Math. Stat. 2 (1931) 360-378; R. A. Johnson, D. W. Wichern, Applied Multivariate Statistical
 *         Analysis, section 6.3; with blocks: T. W. Anderson, An Introduction to Multivariate Statistical Analysis (2003), ch. 8
 */
export function hotellingTwoSample(runs: ComparedVectors): {
  readonly difference: Float64Array;
  readonly test: HotellingTest | null;
} {
  const { columns, candidate, block, blocks } = runs;
  const { offsets, size } = contrastOf(candidate, block, blocks);
  const difference = Float64Array.from(columns, (column) => dot(offsets, column) / size);
  const scatter = scatterOf(columns, block, blocks);
  const p = columns.length;
  // what the configuration explains leaves the residuals
  for (let a = 0; a < p; a++) for (let b = 0; b < p; b++) scatter[a * p + b]! -= size * difference[a]! * difference[b]!;
  const df = candidate.length - blocks - 1;
  return { difference, test: testOf(difference, scatter, size, df) };
}

/** d of every run, and S. */
export function contrastOf(
  candidate: Uint8Array,
  block: Int32Array,
  blocks: number,
): { readonly offsets: Float64Array; readonly size: number } {
  const count = new Float64Array(blocks);
  const own = new Float64Array(blocks);
  for (let i = 0; i < block.length; i++) {
    count[block[i]!]!++;
    own[block[i]!]! += candidate[i]!;
  }
  const offsets = Float64Array.from(candidate, (one, i) => one - own[block[i]!]! / count[block[i]!]!);
  let size = 0;
  for (const d of offsets) size += d * d;
  return { offsets, size };
}

/** Sums of products about the blocks' means, p x p. */
export function scatterOf(columns: readonly Float64Array[], block: Int32Array, blocks: number): Float64Array {
  const p = columns.length;
  const centred = columns.map((column) => aboutBlocks(column, block, blocks));
  const scatter = new Float64Array(p * p);
  for (let a = 0; a < p; a++) for (let b = 0; b < p; b++) scatter[a * p + b] = dot(centred[a]!, centred[b]!);
  return scatter;
}

/** A column less the mean of its block. */
export function aboutBlocks(column: Float64Array, block: Int32Array, blocks: number): Float64Array {
  const sum = new Float64Array(blocks);
  const count = new Float64Array(blocks);
  for (let i = 0; i < column.length; i++) {
    sum[block[i]!]! += column[i]!;
    count[block[i]!]!++;
  }
  return column.map((value, i) => value - sum[block[i]!]! / count[block[i]!]!);
}

/** T^2 = weight off' (scatter/df)^-1 off. */
function testOf(off: Float64Array, scatter: Float64Array, weight: number, df: number): HotellingTest | null {
  const p = off.length;
  const df2 = df - p + 1;
  if (df2 < 1) return null;
  const factor = choleskyFactor(scatter, p, ownPart);
  if (factor === null) return null;
  const t2 = weight * df * dot(off, solveCholesky(factor, off));
  const f = (t2 * df2) / (p * df);
  return Number.isFinite(f)
    ? { t2, f, df1: p, df2, p: fUpperTail(f, p, df2), covariance: scatter.map((value) => value / (weight * df)) }
    : null;
}

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!;
  return sum;
}
