import { NotFiniteError, TooFewSamplesError } from "../foundation/errors.ts";

/**
 * The one guard at the door of every statistic here: enough numbers, and all of them finite.
 *
 * One pass without a branch that is ever taken: x - x is 0 for a finite x and NaN for all others.
 *
 * @param functionName  named in the message
 * @param values        n numbers
 * @param needed        smallest n that makes sense
 * @throws TooFewSamplesError  n < needed
 * @throws NotFiniteError      NaN or infinity at index i
 */
export function requireFinite(functionName: string, values: Float64Array, needed = 1): void {
  if (values.length < needed) throw new TooFewSamplesError(functionName, needed, values.length);
  if (sumOfSelfDifferences(values) === 0) return;
  const index = values.findIndex((value) => !Number.isFinite(value));
  throw new NotFiniteError(functionName, index, values[index]!);
}

// a loop with nothing behind it: it is compiled once and stays so
function sumOfSelfDifferences(values: Float64Array): number {
  let zero = 0;
  for (let i = 0; i < values.length; i++) zero += values[i]! - values[i]!;
  return zero;
}
