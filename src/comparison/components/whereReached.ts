/**
 * Where a function that passes from below a level to above it reaches it, between two places: Ridders' method, which keeps the
 * place between two ends and doubles the digits with every two looks.
 *
 * @param bracket.low        below the level there
 * @param bracket.high       at or above it
 * @param bracket.tolerance  two answers in a row this near to each other, as a part of the last, are near enough
 * @source C. J. F. Ridders, IEEE Trans. Circuits Syst. 26 (1979) 979-980
 * @example whereReached((x) => x * x, 2, { low: 0, high: 2, tolerance: 1e-12 }) // => 1.4142135623731
 */
export function whereReached(
  rising: (x: number) => number,
  level: number,
  bracket: { low: number; high: number; tolerance: number },
): number {
  let { low, high } = bracket;
  let below = rising(low) - level;
  let above = rising(high) - level;
  let last = Number.POSITIVE_INFINITY;
  for (let step = 0; step < 60; step++) {
    const middle = 0.5 * (low + high);
    const between = rising(middle) - level;
    const root = Math.sqrt(between * between - below * above);
    // all three on the level: flat there
    if (!(root > 0)) return middle;
    const next = middle - ((middle - low) * between) / root;
    if (Math.abs(next - last) <= bracket.tolerance * Math.abs(next)) return next;
    last = next;
    const there = rising(next) - level;
    if (there === 0) return next;
    // the two of the four places that lie nearest to each other on either side
    const places: [number, number][] = [
      [low, below],
      [middle, between],
      [next, there],
      [high, above],
    ];
    for (const [place, value] of places) {
      if (value < 0 && place > low) [low, below] = [place, value];
      if (value >= 0 && place < high) [high, above] = [place, value];
    }
  }
  return last;
}
