import type { Measure } from "../catalogue/measures.ts";
import type { Verdict } from "../catalogue/verdicts.ts";
import type { Settings } from "../contract/settings.ts";
import { chiSquaredQuantile } from "../numeric/chiSquared.ts";
import { normalQuantile } from "../numeric/normal.ts";
import { studentTQuantile } from "../numeric/studentT.ts";

/** Which way a measure goes where the flight is steadier. */
export type Steadier = Measure["steadier"];

/** What a verdict rests on. */
interface VerdictGrounds {
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

/** The thresholds of the comparison, by what they are for. */
export function verdictLimits(settings: Settings): VerdictLimits {
  return {
    leastRuns: settings.least_runs,
    familyError: settings.family_error,
    equivalenceError: (1 - settings.equivalence_level) / 2,
  };
}

/**
 * An answer that hangs on the spread, at the estimated spread and at both ends of its interval:
 *
 *   sd sqrt(df / chi-squared(1 - outside)),  sd,  sd sqrt(df / chi-squared(outside)),   outside = (1 - spreadLevel) / 2
 *
 * @param options.spreadDf     degrees of freedom of the estimated spread, above 0, need not be whole
 * @param options.spreadLevel  of the interval, inside 0 to 1
 * @param answer               given the factor on the estimated spread
 * @throws CounterpoiseError  code `not-degrees-of-freedom`
 * @source G. W. Snedecor, W. G. Cochran, Statistical Methods (1989), section 5.11 (interval of a variance; from memory)
 * @example overSpread({ spreadDf: 10, spreadLevel: 0.95 }, (factor) => factor) // => { low: 0.699, middle: 1, high: 1.755 }
 */
export function overSpread<T>(
  options: { spreadDf: number; spreadLevel: number },
  answer: (factor: number) => T,
): { low: T; middle: T; high: T } {
  const { spreadDf, spreadLevel } = options;
  const outside = 0.5 * (1 - spreadLevel);
  // hundredths of a degree of freedom know nothing of the spread: its upper end leaves the numbers
  const factor = (probability: number): number =>
    Math.min(1e100, Math.sqrt(spreadDf / chiSquaredQuantile(probability, spreadDf)));
  return { low: answer(factor(1 - outside)), middle: answer(1), high: answer(factor(outside)) };
}

/** from here on the series is exact to thirteen digits, while Student's t by its fraction grows slow and loses digits */
const MANY = 20_000;

/**
 * The value that Student's t exceeds with the probability given, thirteen digits, for any number of runs up to the largest.
 *
 * Asked for by the probability outside: one minus it would lose digits.
 *
 * @param outside           0 to 1
 * @param degreesOfFreedom  above 0, need not be whole
 * @throws CounterpoiseError  code `not-a-probability`; code `not-degrees-of-freedom`
 * @source the series: M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions (1964), 26.7.5
 * @example criticalValue(0.025, 4) // => 2.77644510519779
 */
export function criticalValue(outside: number, degreesOfFreedom: number): number {
  if (!(degreesOfFreedom > MANY) || !Number.isFinite(degreesOfFreedom)) {
    return -studentTQuantile(outside, degreesOfFreedom);
  }
  const z = -normalQuantile(outside);
  if (!Number.isFinite(z)) return z;
  const square = z * z;
  const terms = [
    (square + 1) / 4,
    ((5 * square + 16) * square + 3) / 96,
    (((3 * square + 19) * square + 17) * square - 15) / 384,
  ] as const;
  const r = 1 / degreesOfFreedom;
  return z * (1 + r * (terms[0] + r * (terms[1] + r * terms[2])));
}
