/**
 * Smallest whole number of runs that is enough, found from a guess: ever longer strides away from it until the answer lies
 * between two numbers, then halving. A good guess takes two looks, a poor one twice the logarithm of its error.
 *
 * @param enough         no before some number, yes from there on
 * @param options.guess  where to begin; need not be whole, may be infinite
 * @param options.least  never fewer than these
 * @returns at most `Number.MAX_SAFE_INTEGER`, which also stands for all beyond
 * @example smallestRuns((runs) => runs * runs > 50, { guess: 3, least: 2 }) // => 8
 */
export function smallestRuns(enough: (runs: number) => boolean, options: { guess: number; least: number }): number {
  const { guess, least } = options;
  const most = Number.MAX_SAFE_INTEGER;
  const first = Math.min(most, Math.max(least, Math.ceil(guess)));
  // known to be too few, known to be enough
  let few = least - 1;
  let plenty = most;
  let stride = 1;
  if (enough(first)) {
    plenty = first;
    while (plenty > least) {
      const fewer = Math.max(least, plenty - stride);
      if (!enough(fewer)) {
        few = fewer;
        break;
      }
      plenty = fewer;
      stride *= 2;
    }
  } else {
    few = first;
    while (few < most) {
      const more = Math.min(most, few + stride);
      if (more === most || enough(more)) {
        plenty = more;
        break;
      }
      few = more;
      stride *= 2;
    }
  }
  while (plenty - few > 1) {
    const between = few + Math.floor((plenty - few) / 2);
    if (enough(between)) plenty = between;
    else few = between;
  }
  return plenty;
}
