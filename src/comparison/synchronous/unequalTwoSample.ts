import { fUpperTail } from "../../numeric/fUpperTail.ts";
import { choleskyFactor, solveCholesky } from "../../numeric/symmetricMatrix.ts";
import { contrastOf, type HotellingTest } from "./hotelling.ts";
import type { ComparedVectors } from "./meanVectors.ts";

/** a column of which less than this part is its own nearly follows from the others */
const ownPart = 1e-10;

/** Whether every block holds as many runs of one configuration as of the other. */
export function isBalanced({ candidate, block, blocks }: ComparedVectors): boolean {
  const apart = new Int32Array(blocks);
  for (let i = 0; i < block.length; i++) apart[block[i]!]! += candidate[i] === 1 ? 1 : -1;
  return apart.every((difference) => difference === 0);
}

/**
 * Test of a difference of mean vectors where counts differ and the configurations may scatter unlike: pooled scatter, as
 * `hotellingTwoSample` takes it, then calls chance a difference up to several times too often. Each configuration s has its own
 * covariance C_s, on f_s degrees of freedom within its blocks; with w_i the weight of run i in the difference
 *
 *   V = V_0 + V_1,   V_s = C_s sum(w_i^2 over its runs),   T^2 = difference' V^-1 difference,
 *   nu = (p + p^2) / sum over s of ( tr((V_s V^-1)^2) + tr(V_s V^-1)^2 ) / f_s,
 *   F = T^2 (nu - p + 1)/(p nu)  on  p, nu - p + 1
 *
 * Of one component without blocks that is Welch's test. Of two, at 9 v 3 runs of which the three scatter twice as much, chance is
 * called a difference in 11 of 100 (pooled: 20); at 6 v 3 in 6 to 7 (13), at 9 v 5 in 6 to 7 (14).
 *
 * @param difference  of the mean vectors, p numbers, as `hotellingTwoSample` gives it
 * @returns null where a configuration has no scatter of its own, or too little for p components
 * @source K. Krishnamoorthy, J. Yu, Stat. Probab. Lett. 66 (2004) 161-169 (from memory; held against Welch's test and by simulation)
 */
export function unequalTwoSample(runs: ComparedVectors, difference: Float64Array): HotellingTest | null {
  const p = difference.length;
  const sides = ([0, 1] as const).map((side) => sideOf(runs, side));
  if (sides.some(({ freedom }) => freedom < 1)) return null;
  const whole = sides[0]!.covariance.map((value, k) => value + sides[1]!.covariance[k]!);
  const factor = choleskyFactor(whole, p, ownPart);
  if (factor === null) return null;
  const parts = sides.map(({ covariance, freedom }) => {
    // V_s V^-1, row by row: V is symmetric
    const share = Array.from({ length: p }, (_, a) => solveCholesky(factor, covariance.slice(a * p, (a + 1) * p)));
    let [trace, ofSquare] = [0, 0];
    for (let a = 0; a < p; a++) {
      trace += share[a]![a]!;
      for (let b = 0; b < p; b++) ofSquare += share[a]![b]! * share[b]![a]!;
    }
    return (ofSquare + trace * trace) / freedom;
  });
  const freedom = (p + p * p) / (parts[0]! + parts[1]!);
  const df2 = freedom - p + 1;
  const solved = solveCholesky(factor, difference);
  const t2 = difference.reduce((sum, value, a) => sum + value * solved[a]!, 0);
  const f = (t2 * df2) / (p * freedom);
  return df2 >= 1 && Number.isFinite(f) ? { t2, f, df1: p, df2, p: fUpperTail(f, p, df2), covariance: whole } : null;
}

/** One configuration's part in the covariance of the difference, p x p, with its degrees of freedom. */
function sideOf(
  { columns, candidate, block, blocks }: ComparedVectors,
  side: 0 | 1,
): { covariance: Float64Array; freedom: number } {
  const { offsets, size } = contrastOf(candidate, block, blocks);
  const own = Array.from(candidate.keys()).filter((i) => candidate[i] === side);
  const count = new Float64Array(blocks);
  for (const i of own) count[block[i]!]!++;
  const freedom = own.length - count.filter((n) => n > 0).length;
  const weights = own.reduce((sum, i) => sum + (offsets[i]! / size) ** 2, 0);
  const centred = columns.map((column) => {
    const mean = new Float64Array(blocks);
    for (const i of own) mean[block[i]!]! += column[i]! / count[block[i]!]!;
    return own.map((i) => column[i]! - mean[block[i]!]!);
  });
  const covariance = new Float64Array(columns.length ** 2);
  for (const [a, first] of centred.entries())
    for (const [b, second] of centred.entries())
      covariance[a * columns.length + b] =
        (weights / freedom) * first.reduce((sum, value, k) => sum + value * second[k]!, 0);
  return { covariance, freedom };
}
