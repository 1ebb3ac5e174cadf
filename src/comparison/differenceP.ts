import { studentTCdf } from "../numeric/studentTCdf.ts";
import type { DifferenceEstimate } from "./differenceEstimate.ts";

/**
 * Two-sided p of a difference by Student's t: how often chance alone would give one at least as large.
 *
 * @returns null where the runs show no spread
 */
export function differenceP({ difference, standardError, degreesOfFreedom }: DifferenceEstimate): number | null {
  if (standardError === 0) return null;
  return 2 * studentTCdf(-Math.abs(difference) / standardError, degreesOfFreedom);
}
