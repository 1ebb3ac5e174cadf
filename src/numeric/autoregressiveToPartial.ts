import { requireFinite } from "./requireFinite.ts";
import { requireStationary } from "./requireStationary.ts";

/**
 * Partial autocorrelations of a stationary autoregressive model: `partialToAutoregressive` undone.
 *
 * @param coefficients  p coefficients phi[1..p], of a stationary model
 * @returns p numbers inside -1..1
 * @throws NotFiniteError     NaN or infinity at index i
 * @throws CounterpoiseError  code `not-stationary`
 * @example autoregressiveToPartial(Float64Array.of(0.75, -0.5)) // => 0.5, -0.5
 */
export function autoregressiveToPartial(coefficients: Float64Array): Float64Array {
  requireFinite("autoregressiveToPartial", coefficients, 0);
  const partial = coefficients.slice();
  for (let order = partial.length - 1; order >= 0; order--) {
    const last = partial[order]!;
    requireStationary("autoregressiveToPartial", last);
    const before = partial.slice(0, order);
    for (let j = 0; j < order; j++) partial[j] = (before[j]! + last * before[order - 1 - j]!) / (1 - last * last);
  }
  return partial;
}
