import { CounterpoiseError } from "../foundation/errors.ts";
import { requireSameLength } from "./requireSameLength.ts";

/**
 * Straight lines between the source's points, at the target's times. One walk along both.
 *
 * Never extrapolates: NaN before the first and after the last source time. A NaN value makes NaN of the two stretches
 * beside it, so a gap that is marked stays marked; a gap that is *not* marked is bridged, and closing that door is the caller's work.
 *
 * @param tSource  n times, strictly ascending
 * @param vSource  n values; NaN = no value here
 * @param tTarget  m times, ascending (equal neighbours allowed), same clock
 * @returns m values
 * @throws CounterpoiseError  code `unequal-lengths`; code `not-ascending`: times out of order or NaN
 * @example interpolateLinear(Float64Array.of(0, 2), Float64Array.of(0, 6), Float64Array.of(1, 2, 3)) // => 3, 6, NaN
 */
export function interpolateLinear(tSource: Float64Array, vSource: Float64Array, tTarget: Float64Array): Float64Array {
  requireSameLength("interpolateLinear", tSource.length, vSource.length);
  for (let i = 0; i < tSource.length; i++) {
    if (!(i === 0 ? tSource[0]! - tSource[0]! === 0 : tSource[i]! > tSource[i - 1]!))
      throw disorder("source", tSource, i);
  }
  const result = new Float64Array(tTarget.length).fill(Number.NaN);
  const last = tSource.length - 1;
  let left = 0;
  for (let i = 0; i < tTarget.length; i++) {
    const t = tTarget[i]!;
    if (!(i === 0 ? t - t === 0 : t >= tTarget[i - 1]!)) throw disorder("target", tTarget, i);
    if (last < 0 || t < tSource[0]! || t > tSource[last]!) continue;
    while (left < last && tSource[left + 1]! <= t) left++;
    const from = tSource[left]!;
    const value = vSource[left]!;
    if (t === from) result[i] = value;
    else result[i] = value + ((t - from) / (tSource[left + 1]! - from)) * (vSource[left + 1]! - value);
  }
  return result;
}

function disorder(which: string, times: Float64Array, index: number): CounterpoiseError {
  const before = index > 0 ? ` after ${times[index - 1]}` : "";
  return new CounterpoiseError(
    "not-ascending",
    `interpolateLinear requires ${which} times in ascending order, found ${times[index]}${before} at index ${index}`,
    { hint: "sort the samples and drop repeated stamps first" },
  );
}
