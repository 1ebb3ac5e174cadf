/**
 * Least and greatest value of a column; NaN is passed over here because it marks what is not known, and is counted by
 * its owner. Infinity and -Infinity for a column without a number.
 *
 * @example extent(Float64Array.of(2, -1, 3)).low // => -1
 */
export function extent(column: Float64Array): { low: number; high: number } {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < column.length; i++) {
    const value = column[i]!;
    if (value < low) low = value;
    if (value > high) high = value;
  }
  return { low, high };
}
