/**
 * Several counts as their least and most.
 *
 * @param counts  at least one
 * @example countRange([3, 5, 4]) // => "3 to 5"
 */
export function countRange(counts: readonly number[]): string {
  const [fewest, most] = [Math.min(...counts), Math.max(...counts)];
  return fewest === most ? `${most}` : `${fewest} to ${most}`;
}

/**
 * All of some things, as it is said: "the one cell", "both cells", "all 6 cells".
 *
 * @param plural  the thing's name for more than one
 */
export function allOf(count: number, singular: string, plural: string): string {
  if (count === 1) return `the one ${singular}`;
  return count === 2 ? `both ${plural}` : `all ${count} ${plural}`;
}
