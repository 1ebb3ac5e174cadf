/**
 * Intraclass correlation: share of the variance that lies between runs; of the mean of `cycles` cycles instead of a single
 * one where that is given. One-way, ICC(1,1) and ICC(1,k): cycles of different runs have nothing in common by their number.
 *
 *   sb^2/(sb^2 + se^2/cycles)
 *
 * @param between  standard deviation between runs
 * @param within   standard deviation between the cycles of a run; not both 0
 * @source P. E. Shrout, J. L. Fleiss, Psychol. Bull. 86 (1979) 420-428
 * @example intraclass(1, 2) // => 0.2
 */
export function intraclass(between: number, within: number, cycles = 1): number {
  // relative to the larger, so that a square neither overflows nor vanishes
  const largest = Math.max(between, within);
  const b = (between / largest) ** 2;
  return b / (b + (within / largest) ** 2 / cycles);
}

/**
 * How many times too small the variance of a mean comes out where cycles are counted as if each were a run.
 *
 * @param cycles  per run
 * @source L. Kish, Survey Sampling (1965), section 5.4
 * @example designEffect(10, 0.3) // => 3.7
 */
export function designEffect(cycles: number, correlation: number): number {
  return 1 + (cycles - 1) * correlation;
}
