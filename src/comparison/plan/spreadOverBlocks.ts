/**
 * Runs per configuration in each block: as even as can be, the larger numbers first.
 *
 * @param runs    per configuration, whole, at least `blocks`
 * @param blocks  whole, at least 1
 * @example spreadOverBlocks(5, 2) // => [3, 2]
 */
export function spreadOverBlocks(runs: number, blocks: number): number[] {
  const least = Math.floor(runs / blocks);
  return Array.from({ length: blocks }, (_, b) => least + (b < runs - least * blocks ? 1 : 0));
}
