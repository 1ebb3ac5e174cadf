import type { Metres } from "../foundation/units.ts";

/**
 * Share of the samples whose error is no longer than a tolerance: what a task that needs the tool within so much sees.
 *
 * Of samples, not of time: where poses are lost, what was flown meanwhile counts for nothing.
 *
 * @param lengths    n lengths of the error vector, metres
 * @param tolerance  metres, >= 0; a length equal to it is within
 * @returns 0 to 1; null without a sample
 * @example shareWithin(Float64Array.of(0.01, 0.02, 0.03, 0.04), 0.02) // => 0.5
 */
export function shareWithin(lengths: Float64Array, tolerance: Metres): number | null {
  let inside = 0;
  for (const length of lengths) if (length <= tolerance) inside++;
  return lengths.length === 0 ? null : inside / lengths.length;
}
