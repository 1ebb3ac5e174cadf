/**
 * Least and greatest value of a column; NaN is passed over here because it marks what is not known, and is counted by
 * its owner. Infinity and -Infinity for a column without a number.
 *
 * @example extent(Float64Array.of(2, -1, 3)).low // => -1
 */
export function extent(column: Float64Array): { low: number; high: number } {
  return { low: lowest(column), high: highest(column) };
}

// two plain loops: one that finds both is slower, as it is compiled again each time it ends
function lowest(column: Float64Array): number {
  let low = Number.POSITIVE_INFINITY;
  for (let i = 0; i < column.length; i++) if (column[i]! < low) low = column[i]!;
  return low;
}

function highest(column: Float64Array): number {
  let high = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < column.length; i++) if (column[i]! > high) high = column[i]!;
  return high;
}
