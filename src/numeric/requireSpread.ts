import { CounterpoiseError } from "../foundation/errors.ts";

/**
 * A ratio to the spread has no value where there is no spread.
 *
 * @throws CounterpoiseError  code `no-spread`: all values are alike
 */
export function requireSpread(functionName: string, spread: number): void {
  if (spread > 0) return;
  throw new CounterpoiseError("no-spread", `${functionName} requires values that differ, found all alike`, {
    hint: "look for a frozen signal",
  });
}
