import { studentTQuantile } from "../numeric/studentTQuantile.ts";
import type { DifferenceEstimate } from "./differenceEstimate.ts";

/**
 * Confidence interval of a difference: difference -+ t((1 + level)/2, df) se.
 *
 * @param level  0 to 1, such as 0.95
 * @returns null where the runs show no spread: there is nothing to tell how far the difference may be off
 */
export function differenceInterval(estimate: DifferenceEstimate, level: number): [number, number] | null {
  const { difference, standardError, degreesOfFreedom } = estimate;
  if (standardError === 0) return null;
  const half = studentTQuantile((1 + level) / 2, degreesOfFreedom) * standardError;
  return [difference - half, difference + half];
}
