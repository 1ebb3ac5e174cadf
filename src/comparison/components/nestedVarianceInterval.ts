import { chiSquaredQuantile, chiSquaredTails } from "../../numeric/chiSquared.ts";
import { type NestedRuns, nestedRuns, type RunSums, whereReached } from "./nestedVarianceRuns.ts";

/** Values of the variance between cycles over which the interval is averaged, at the middles of equal shares of its chance. */
const shares = 7;

/**
 * Interval of the standard deviation between runs, by generalised pivots. With the symbols of `nestedVariance`, at the true
 * variances
 *
 *   S/se^2 ~ chi^2 on N - R,   Q(sb^2, se^2) = sum (m - M)^2/(sb^2 + se^2/n) ~ chi^2 on R - G,   independent of one another
 *
 * so that S/chi^2 stands for se^2, and the sb^2 at which Q equals a chi^2 of its own for sb^2. The ends are the quantiles of
 * what so stands for sb^2, 0 where that is below 0.
 *
 * Chosen by simulated coverage at 6 to 20 runs of 8 to 14 cycles in 1 to 4 groups, between runs 0.1 to 2 times as much as
 * between cycles: 94.6 to 95.4 % (10 000 campaigns each), missed as often above as below. The profile of the restricted
 * likelihood against chi^2 on 1 covers 92.8 to 98.6 % (1000 each) and may miss five times as often above as below; the modified
 * large-sample interval on the harmonic mean of cycles (Burdick and Graybill 1992) covers as well as this one.
 *
 * @param level  such as 0.95
 * @returns null where `nestedVariance` is null, and where the upper end is 0: the runs are more alike than their cycles let
 *          them be (1 to 4 of 100 campaigns whose runs do not differ; or neighbouring cycles that work against each other)
 * @source S. Weerahandi, J. Am. Stat. Assoc. 88 (1993) 899-905 (generalised intervals); A. Wald, Ann. Math. Stat. 11 (1940)
 *         96-100 (Q for runs of unlike length)
 */
export function nestedVarianceInterval(runs: readonly RunSums[], level: number): [number, number] | null {
  const nested = nestedRuns(runs);
  if (nested === null) return null;
  const { squares, degreesOfFreedom } = nested;
  const within = middles(degreesOfFreedom.cycles).map((chi) => squares / chi);
  /** chance that what stands for sb^2 lies below `variance` */
  const below = (variance: number): number => {
    let sum = 0;
    for (const own of within) {
      sum += chiSquaredTails(distances(nested, variance, own), degreesOfFreedom.runs).upper;
    }
    return sum / shares;
  };
  const scale = squares / degreesOfFreedom.cycles;
  const tail = (1 - level) / 2;
  const upper = endOf(below, 1 - tail, scale);
  if (upper === 0) return null;
  return [Math.sqrt(endOf(below, tail, scale)), Math.sqrt(upper)];
}

/** Q(sb^2, se^2) */
function distances({ groups }: NestedRuns, between: number, within: number): number {
  let sum = 0;
  for (const runs of groups) {
    let weights = 0;
    let weighted = 0;
    for (const { count, mean } of runs) {
      const weight = 1 / (between + within / count);
      weights += weight;
      weighted += weight * mean;
    }
    const centre = weighted / weights;
    for (const { count, mean } of runs) sum += (mean - centre) ** 2 / (between + within / count);
  }
  return sum;
}

/** chi-squared at the middles of equal shares, kept by degrees of freedom: a campaign's cells have them in common */
const known = new Map<number, number[]>();

function middles(degreesOfFreedom: number): number[] {
  let own = known.get(degreesOfFreedom);
  if (own === undefined) {
    own = Array.from({ length: shares }, (_, k) => chiSquaredQuantile((k + 0.5) / shares, degreesOfFreedom));
    known.set(degreesOfFreedom, own);
  }
  return own;
}

/** 0 where the level is reached at 0 already. */
function endOf(below: (variance: number) => number, level: number, scale: number): number {
  if (below(0) >= level) return 0;
  let low = 0;
  let high = scale;
  while (below(high) < level) {
    low = high;
    high *= 4;
  }
  return whereReached((variance) => odds(below(variance)), odds(level), { low, high, tolerance: 1e-5 });
}

/** Logarithm of the odds: runs straighter than the chance. */
function odds(chance: number): number {
  return Math.log(Math.max(chance, 1e-300) / Math.max(1 - chance, 1e-16));
}

/** A correlation nearer to 1 is taken for 1: drift from one cycle to the next. */
const nearOne = 0.999;

/**
 * Correlation of neighbouring cycles within runs, all runs together: products of neighbours' distances from their run's mean
 * over the squares of these distances.
 *
 * The mean is the run's own, so that in short runs even cycles that have nothing to do with one another seem to alternate (-1/n
 * for n cycles). It is put right by what is expected of a first-order autoregressive series: the correlation returned is the
 * one under which the expected products over the expected squares are what was found.
 *
 * @param runs        per run one number per cycle, in order; null where a cycle has none
 * @param leastPairs  fewer pairs of neighbours, all runs together, say nothing
 * @returns -1 to 1; null with fewer pairs, no run of 3 cycles, or cycles all alike
 * @source bias of the correlation of a short series: F. H. C. Marriott, J. A. Pope, Biometrika 41 (1954) 390-402
 */
export function neighbourCorrelation(runs: readonly (readonly (number | null)[])[], leastPairs: number): number | null {
  const patterns = new Map<string, Pattern & { times: number }>();
  let pairs = 0;
  let longest = 0;
  let products = 0;
  let squares = 0;
  let largest = 0;
  for (const cycles of runs) {
    const places = [...cycles.keys()].filter((j) => cycles[j] !== null);
    const n = places.length;
    if (n < 2) continue;
    longest = Math.max(longest, n);
    const values = places.map((j) => cycles[j]!);
    const centre = values.reduce((sum, value) => sum + value / n, 0);
    largest = Math.max(largest, Math.abs(centre));
    for (const [j, value] of values.entries()) {
      squares += (value - centre) ** 2;
      if (j > 0 && places[j]! - places[j - 1]! === 1) {
        products += (value - centre) * (values[j - 1]! - centre);
        pairs++;
      }
    }
    const key = places.map((place) => place - places[0]!).join();
    const own = patterns.get(key);
    if (own === undefined) patterns.set(key, { places, times: 1 });
    else own.times++;
  }
  if (pairs < leastPairs || longest < 3 || !(squares > (1e-12 * largest) ** 2)) return null;
  const found = products / squares;
  const expected = (rho: number): number => {
    let expectedProducts = 0;
    let expectedSquares = 0;
    for (const pattern of patterns.values()) {
      const own = expectedSums(pattern, rho);
      expectedProducts += pattern.times * own.products;
      expectedSquares += pattern.times * own.squares;
    }
    return expectedProducts / expectedSquares;
  };
  if (found >= expected(nearOne)) return 1;
  if (found <= expected(-nearOne)) return -1;
  // counted from -1, for the tolerance is a part of the answer and the answer may be 0
  return (
    whereReached((place) => expected(place - 1), found, { low: 1 - nearOne, high: 1 + nearOne, tolerance: 1e-9 }) - 1
  );
}

/** Numbers of the cycles that a run has. */
interface Pattern {
  readonly places: readonly number[];
}

/** Expected products and squares about the run's mean, cycles k apart correlating rho^k, unit variance. */
function expectedSums({ places }: Pattern, rho: number): { products: number; squares: number } {
  const n = places.length;
  const powers = [1];
  for (let k = 1; k <= places[n - 1]! - places[0]!; k++) powers.push(powers[k - 1]! * rho);
  const between = (i: number, j: number): number => powers[Math.abs(places[i]! - places[j]!)]!;
  const rows = places.map((_, i) => places.reduce((sum, _place, j) => sum + between(i, j), 0) / n);
  const whole = rows.reduce((sum, row) => sum + row, 0) / n;
  let products = 0;
  let squares = 0;
  for (let i = 0; i < n; i++) {
    squares += 1 - 2 * rows[i]! + whole;
    if (i > 0 && places[i]! - places[i - 1]! === 1) products += rho - rows[i]! - rows[i - 1]! + whole;
  }
  return { products, squares };
}
