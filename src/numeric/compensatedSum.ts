import { sum } from "simple-statistics";
import { requireFinite } from "./requireFinite.ts";

/**
 * Sum with the rounding of every addition carried along, so that a million readings add up to the last digit.
 * The sum of simple-statistics is that of Neumaier (1974); for typed arrays it needs only another type.
 *
 * @param values  n numbers; 0 for none
 * @throws NotFiniteError  NaN or infinity at index i
 * @source A. Neumaier, Z. angew. Math. Mech. 54 (1974) 39-51
 * @example compensatedSum(Float64Array.of(1, 1e100, 1, -1e100)) // => 2
 */
export function compensatedSum(values: Float64Array): number {
  requireFinite("compensatedSum", values, 0);
  return sum(values as unknown as number[]);
}
