import { whereReached } from "./whereReached.ts";

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
