import { CounterpoiseError } from "../foundation/errors.ts";
import { requireFinite } from "./requireFinite.ts";

/**
 * Coefficients of the stationary autoregressive model with the given partial autocorrelations (Levinson and Durbin).
 *
 *   x[t] = phi[1] x[t-1] + ... + phi[p] x[t-p] + innovation       (the signs of R's `ar` and `arima`)
 *
 * Every set of partials inside -1..1 gives a stationary model, so they are the coordinates to search in.
 *
 * @param partial  p numbers, each inside -1..1
 * @returns p coefficients phi[1..p]
 * @throws NotFiniteError     NaN or infinity at index i
 * @throws CounterpoiseError  code `not-stationary`: a partial autocorrelation of size 1 or more
 * @source J. Durbin, Rev. Int. Stat. Inst. 28 (1960) 233-244
 * @example partialToAutoregressive(Float64Array.of(0.5, -0.5)) // => 0.75, -0.5
 */
export function partialToAutoregressive(partial: Float64Array): Float64Array {
  requireFinite("partialToAutoregressive", partial, 0);
  const coefficients = new Float64Array(partial.length);
  partial.forEach((last, order) => {
    requireStationary("partialToAutoregressive", last);
    const before = coefficients.slice(0, order);
    for (let j = 0; j < order; j++) coefficients[j] = before[j]! - last * before[order - 1 - j]!;
    coefficients[order] = last;
  });
  return coefficients;
}

/**
 * An autoregressive model is stationary where all its partial autocorrelations lie inside -1..1.
 *
 * @throws CounterpoiseError  code `not-stationary`
 */
function requireStationary(functionName: string, partial: number): void {
  if (Math.abs(partial) < 1) return;
  throw new CounterpoiseError(
    "not-stationary",
    `${functionName} requires a stationary model (partial autocorrelations inside -1 to 1), found ${partial}`,
  );
}
