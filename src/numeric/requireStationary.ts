import { CounterpoiseError } from "../foundation/errors.ts";

/**
 * An autoregressive model is stationary where all its partial autocorrelations lie inside -1..1.
 *
 * @throws CounterpoiseError  code `not-stationary`
 */
export function requireStationary(functionName: string, partial: number): void {
  if (Math.abs(partial) < 1) return;
  throw new CounterpoiseError(
    "not-stationary",
    `${functionName} requires a stationary model (partial autocorrelations inside -1 to 1), found ${partial}`,
  );
}
