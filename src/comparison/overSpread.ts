import { chiSquaredQuantile } from "../numeric/chiSquaredQuantile.ts";

/**
 * An answer that hangs on the spread, at the estimated spread and at both ends of its interval:
 *
 *   sd sqrt(df / chi-squared(1 - outside)),  sd,  sd sqrt(df / chi-squared(outside)),   outside = (1 - spreadLevel) / 2
 *
 * @param options.spreadDf     degrees of freedom of the estimated spread, above 0, need not be whole
 * @param options.spreadLevel  of the interval, inside 0 to 1
 * @param answer               given the factor on the estimated spread
 * @throws CounterpoiseError  code `not-degrees-of-freedom`
 * @source G. W. Snedecor, W. G. Cochran, Statistical Methods (1989), section 5.11 (interval of a variance; from memory)
 * @example overSpread({ spreadDf: 10, spreadLevel: 0.95 }, (factor) => factor) // => { low: 0.699, middle: 1, high: 1.755 }
 */
export function overSpread<T>(
  options: { spreadDf: number; spreadLevel: number },
  answer: (factor: number) => T,
): { low: T; middle: T; high: T } {
  const { spreadDf, spreadLevel } = options;
  const outside = 0.5 * (1 - spreadLevel);
  // hundredths of a degree of freedom know nothing of the spread: its upper end leaves the numbers
  const factor = (probability: number): number =>
    Math.min(1e100, Math.sqrt(spreadDf / chiSquaredQuantile(probability, spreadDf)));
  return { low: answer(factor(1 - outside)), middle: answer(1), high: answer(factor(outside)) };
}
