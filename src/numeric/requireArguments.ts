import { CounterpoiseError, NotFiniteError, TooFewSamplesError } from "../foundation/errors.ts";

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

/**
 * @throws CounterpoiseError  code `not-a-probability`: NaN, below 0 or above 1
 */
export function requireProbability(functionName: string, probability: number): void {
  if (probability >= 0 && probability <= 1) return;
  throw new CounterpoiseError(
    "not-a-probability",
    `${functionName} requires a probability from 0 to 1, found ${probability}`,
  );
}

/**
 * Columns that belong together have one length.
 *
 * @throws CounterpoiseError  code `unequal-lengths`
 */
export function requireSameLength(functionName: string, expected: number, found: number): void {
  if (expected !== found) {
    throw new CounterpoiseError(
      "unequal-lengths",
      `${functionName} requires columns of one length, found ${expected} and ${found}`,
    );
  }
}

/**
 * @throws CounterpoiseError  code `not-degrees-of-freedom`: NaN, infinite, zero or negative
 */
export function requireDegreesOfFreedom(functionName: string, degreesOfFreedom: number): void {
  if (degreesOfFreedom > 0 && Number.isFinite(degreesOfFreedom)) return;
  throw new CounterpoiseError(
    "not-degrees-of-freedom",
    `${functionName} requires degrees of freedom above 0, found ${degreesOfFreedom}`,
  );
}
