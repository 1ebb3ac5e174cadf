import type { Measure } from "../catalogue/measures.ts";
import type { Verdict } from "../contract/cell.ts";

/** Which way a measure goes where the flight is steadier. */
export type Steadier = Measure["steadier"];

/** What a verdict rests on. */
export interface VerdictGrounds {
  /** runs of baseline and candidate that enter the difference */
  readonly runs: readonly [number, number];
  /** null where too few runs, or none with spread, allow a test */
  readonly difference: number | null;
  readonly pFamily: number;
  /** null where no smallest difference is declared, or nothing can be tested */
  readonly pEquivalence: number | null;
  /** whether the difference could be tested at all */
  readonly tested: boolean;
  /** which way is steadier */
  readonly steadier: Steadier;
}

/** The limits a verdict applies. */
export interface VerdictLimits {
  readonly leastRuns: number;
  readonly familyError: number;
  /** one-sided error rate of the equivalence test: (1 - level of its interval)/2 */
  readonly equivalenceError: number;
}

/**
 * The verdict of a cell, in this order (design, section 6, item 6): too few runs; no spread; the 90 % interval inside the
 * smallest difference; clear among the family; else within the noise.
 *
 * Runs without any spread carry no verdict on the difference: measured flights are never alike to the last digit, so what is
 * alike is no replicate.
 */
export function decideVerdict(grounds: VerdictGrounds, limits: VerdictLimits): Verdict {
  const { runs, difference, tested, pFamily, pEquivalence, steadier } = grounds;
  if (Math.min(...runs) < limits.leastRuns || difference === null) return "too few runs";
  if (!tested) return "no spread";
  if (pEquivalence !== null && pEquivalence < limits.equivalenceError) return "no difference that matters";
  if (pFamily < limits.familyError) return difference < 0 === (steadier === "lower") ? "steadier" : "less steady";
  return "within the noise";
}
