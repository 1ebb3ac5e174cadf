/**
 * The values of a column at some rows, in their order. Where the rows are all rows in order the column itself is handed
 * back, not a copy: long logs have hundreds of megabytes of columns, and nobody changes one that he was given.
 *
 * @param column  any numbers
 * @param rows    indices into the column
 * @param count   how many of `rows` to take; by default all
 * @example gather(Float64Array.of(1, 2, 3), Uint32Array.of(2, 0)) // => 3, 1
 */
export function gather(column: Float64Array, rows: Uint32Array, count = rows.length): Float64Array {
  if (count === column.length && isEveryRow(rows, count)) return column;
  const out = new Float64Array(count);
  for (let i = 0; i < count; i++) out[i] = column[rows[i]!]!;
  return out;
}

function isEveryRow(rows: Uint32Array, count: number): boolean {
  for (let i = 0; i < count; i++) if (rows[i] !== i) return false;
  return true;
}
