import { CounterpoiseError } from "../foundation/errors.ts";
import { requireFinite } from "./requireArguments.ts";

/**
 * Theoretical autocorrelation of the stationary autoregressive model with given partial autocorrelations.
 *
 * The first p lags come order by order, the others from the model's own recursion. Partials, not coefficients: near the
 * edge of what is stationary the way back from the coefficients loses more digits than there are.
 *
 * @param partial  p numbers, each inside -1..1; p = 0 is white noise
 * @param lags     largest lag, >= 0
 * @returns lags + 1 numbers, rho[0] = 1
 * @throws NotFiniteError     NaN or infinity at index i
 * @throws CounterpoiseError  code `not-stationary`: a partial autocorrelation of size 1 or more
 * @source J. Durbin, Rev. Int. Stat. Inst. 28 (1960) 233-244
 * @example autocorrelationOfPartials(Float64Array.of(0.5, -0.5), 2) // => 1, 0.5, -0.125
 */
export function autocorrelationOfPartials(partial: Float64Array, lags: number): Float64Array {
  const coefficients = partialToAutoregressive(partial);
  const p = coefficients.length;
  const rho = new Float64Array(Math.max(lags, p) + 1);
  rho[0] = 1;
  let innovation = 1;
  for (let order = 1; order <= p; order++) {
    const last = partial[order - 1]!;
    const shorter = partialToAutoregressive(partial.slice(0, order - 1));
    rho[order] = last * innovation;
    for (let j = 1; j < order; j++) rho[order]! += shorter[j - 1]! * rho[order - j]!;
    innovation *= 1 - last * last;
  }
  for (let lag = p + 1; lag < rho.length; lag++) {
    for (let j = 1; j <= p; j++) rho[lag]! += coefficients[j - 1]! * rho[lag - j]!;
  }
  return rho.slice(0, lags + 1);
}

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
