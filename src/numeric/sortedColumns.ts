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

/**
 * The values of a column at some rows, in their order. Where the rows follow one another in the column, a part of the
 * column itself is handed out, not a copy: long logs have hundreds of megabytes of columns, and nobody changes one that
 * he was given.
 *
 * @param column  any numbers
 * @param rows    indices into the column
 * @param count   how many of `rows` to take; by default all
 * @example gather(Float64Array.of(1, 2, 3), Uint32Array.of(2, 0)) // => 3, 1
 */
export function gather(column: Float64Array, rows: Uint32Array, count = rows.length): Float64Array {
  return gatherBy(rows, count)(column);
}

/**
 * As `gather`, for several columns by the same rows: whether they follow one another is found out once.
 *
 * @param rows   indices into the columns
 * @param count  how many of `rows` to take; by default all
 */
export function gatherBy(rows: Uint32Array, count = rows.length): (column: Float64Array) => Float64Array {
  const first = count === 0 ? 0 : rows[0]!;
  if (!isRun(rows, first, count)) return (column) => pick(column, rows, count);
  return (column) => (count === column.length ? column : column.subarray(first, first + count));
}

function pick(column: Float64Array, rows: Uint32Array, count: number): Float64Array {
  const out = new Float64Array(count);
  for (let i = 0; i < count; i++) out[i] = column[rows[i]!]!;
  return out;
}

function isRun(rows: Uint32Array, first: number, count: number): boolean {
  for (let i = 0; i < count; i++) if (rows[i] !== first + i) return false;
  return true;
}

/**
 * a - b, value by value: a plain loop, where a function called for every sample would take several times as long.
 *
 * @param a  n numbers
 * @param b  at least n numbers of the same unit
 * @example difference(Float64Array.of(3, 5), Float64Array.of(1, 1)) // => 2, 4
 */
export function difference(a: Float64Array, b: Float64Array): Float64Array {
  const n = a.length;
  const out = new Float64Array(n);
  for (let i = 0; i < n; i++) out[i] = a[i]! - b[i]!;
  return out;
}
