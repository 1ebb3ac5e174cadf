/** |found - expected| / |expected|; a plain difference where zero is expected. */
export function relativeError(found: number, expected: number): number {
  return Math.abs(found - expected) / (expected === 0 ? 1 : Math.abs(expected));
}

/** The largest of them, element by element; infinite where the lengths differ. */
export function worstRelativeError(found: ArrayLike<number>, expected: ArrayLike<number>): number {
  if (found.length !== expected.length) return Number.POSITIVE_INFINITY;
  return Array.from(found, (value, i) => relativeError(value, expected[i]!)).reduce(largest, 0);
}

/** The largest difference, element by element; infinite where the lengths differ. */
export function worstDifference(found: ArrayLike<number>, expected: ArrayLike<number>): number {
  if (found.length !== expected.length) return Number.POSITIVE_INFINITY;
  return Array.from(found, (value, i) => Math.abs(value - expected[i]!)).reduce(largest, 0);
}

/** As Math.max, but a NaN stays: comparing it to a tolerance then fails, as it must. */
function largest(a: number, b: number): number {
  return Number.isNaN(a) || Number.isNaN(b) ? Number.NaN : Math.max(a, b);
}
