/**
 * Sums of all subsets of a given size, each once; the order is that of the subsets' last members.
 *
 * @param values  n numbers
 * @param size    0 to n
 * @returns n over size sums
 */
export function subsetSums(values: Float64Array, size: number): Float64Array {
  const n = values.length;
  // bySize[k]: sums of the k-subsets of the values seen so far; each value joins those without it
  const bySize: number[][] = Array.from({ length: size + 1 }, () => []);
  bySize[0]!.push(0);
  for (let i = 0; i < n; i++) {
    for (let k = Math.min(size, i + 1); k >= 1; k--) {
      // a subset too small to be filled up by the values that are left is no start
      if (size - k > n - i - 1) break;
      const smaller = bySize[k - 1]!;
      const own = bySize[k]!;
      for (const sum of smaller) own.push(sum + values[i]!);
    }
  }
  return Float64Array.from(bySize[size]!);
}
