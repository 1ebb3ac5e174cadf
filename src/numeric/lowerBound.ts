/**
 * First index of an ascending column whose value is not below `limit`; the length where all are. By bisection.
 *
 * @example lowerBound(Float64Array.of(1, 2, 2, 3), 2) // => 1
 */
export function lowerBound(column: Float64Array, limit: number): number {
  let low = 0;
  let high = column.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (column[middle]! < limit) low = middle + 1;
    else high = middle;
  }
  return low;
}
