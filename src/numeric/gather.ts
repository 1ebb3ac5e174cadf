/**
 * The values of a column at some rows, in their order. A leaf loop that every column of a log passes through.
 *
 * @param column  any numbers
 * @param rows    indices into the column
 * @param count   how many of `rows` to take; by default all
 * @example gather(Float64Array.of(1, 2, 3), Uint32Array.of(2, 0)) // => 3, 1
 */
export function gather(column: Float64Array, rows: Uint32Array, count = rows.length): Float64Array {
  const out = new Float64Array(count);
  for (let i = 0; i < count; i++) out[i] = column[rows[i]!]!;
  return out;
}
