import { CounterpoiseError } from "../foundation/errors.ts";

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
