/**
 * n over k, as a double; exact below 2^53.
 *
 * @param n  whole, 0 or more
 * @param k  whole, 0 to n
 * @example binomial(8, 4) // => 70
 */
export function binomial(n: number, k: number): number {
  const few = Math.min(k, n - k);
  let result = 1;
  for (let i = 1; i <= few; i++) result = (result * (n - few + i)) / i;
  return Math.round(result);
}
