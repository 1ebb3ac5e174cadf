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
