import { partialToAutoregressive } from "./partialToAutoregressive.ts";

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
