import { CounterpoiseError } from "../foundation/errors.ts";

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
