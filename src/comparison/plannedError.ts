import { CounterpoiseError } from "../foundation/errors.ts";
import { studentTQuantile } from "../numeric/studentT.ts";
import { type RunValues, runValues } from "./cellRuns.ts";
import { estimateDifference } from "./estimateDifference.ts";
import type { CellTest, FamilyMember } from "./judgeFamily.ts";
import { groupSums } from "./permutationSums.ts";

/** Both configurations alike, or baseline and candidate. */
export type Pair = number | readonly [baseline: number, candidate: number];

/** Baseline and candidate, each on its own. */
export function both(pair: Pair): readonly [baseline: number, candidate: number] {
  return typeof pair === "number" ? [pair, pair] : pair;
}

/**
 * Standard error of a difference of two means before a run is flown, with Satterthwaite's degrees of freedom, both from the
 * true spreads. Equal runs and spreads give 2 (runs - 1).
 *
 *   se^2 = s0^2/n0 + s1^2/n1,   df = se^4 / ( (s0^2/n0)^2/(n0-1) + (s1^2/n1)^2/(n1-1) )
 *
 * @param runs  per configuration, above 1; need not be whole
 * @param sd    standard deviation between runs, the unit of the values, 0 or more, not both 0
 * @returns the standard error in the unit of the values
 * @throws CounterpoiseError  code `too-few-planned-runs`; code `no-planned-spread`
 * @source B. L. Welch, Biometrika 34 (1947) 28-35; F. E. Satterthwaite, Biometrics Bull. 2 (1946) 110-114
 * @example plannedError(20, 1) // => { standardError: 0.316227766016838, degreesOfFreedom: 38 }
 */
export function plannedError(runs: Pair, sd: Pair): { standardError: number; degreesOfFreedom: number } {
  const [n0, n1] = both(runs);
  const [s0, s1] = both(sd);
  if (!(s0 >= 0 && s1 >= 0 && s0 + s1 > 0 && Number.isFinite(s0 + s1))) {
    throw new CounterpoiseError(
      "no-planned-spread",
      `plannedError requires standard deviations of 0 or more, not both 0, found ${s0} and ${s1}`,
    );
  }
  if (!(n0 > 1 && n1 > 1 && Number.isFinite(n0) && Number.isFinite(n1))) {
    throw new CounterpoiseError(
      "too-few-planned-runs",
      `plannedError requires more than 1 run per configuration, found ${n0} and ${n1}`,
    );
  }
  // shares of the variance, so that the square of a square neither overflows nor vanishes
  const largest = Math.max(s0, s1);
  const v0 = (s0 / largest) ** 2 / n0;
  const v1 = (s1 / largest) ** 2 / n1;
  const variance = v0 + v1;
  return {
    standardError: largest * Math.sqrt(variance),
    degreesOfFreedom: (variance * variance) / ((v0 * v0) / (n0 - 1) + (v1 * v1) / (n1 - 1)),
  };
}

/** The spread between runs on which a plan rests. */
export interface PlannedSpread {
  /** standard deviations of baseline and candidate, unit of the values */
  readonly sd: readonly [number, number];
  /** degrees of freedom of the mean of their squares (Satterthwaite) */
  readonly spreadDf: number;
}

/**
 * The spread that a cell's runs have shown: within blocks where the difference is taken within blocks, else within
 * configurations.
 *
 * @returns null where no run repeats another, or all are alike
 * @source F. E. Satterthwaite, Biometrics Bull. 2 (1946) 110-114
 */
export function plannedSpread(
  { runs }: Pick<FamilyMember, "runs">,
  { estimate }: Pick<CellTest, "estimate">,
): PlannedSpread | null {
  if (estimate === null || estimate.standardError === 0) return null;
  const together = { ...runs, block: new Int32Array(runs.block.length), blocks: 1 };
  const [baseline, candidate] = spreadWithin(estimate.method === "blocked" ? runs : together);
  const squares = baseline.squares + candidate.squares;
  const df = baseline.df + candidate.df;
  if (df === 0 || squares === 0) return null;
  // one run per block shows no spread of its own: the other configuration's stands for both
  const variance = ({ squares: own, df: ownDf }: { squares: number; df: number }): number =>
    ownDf > 0 ? own / ownDf : squares / df;
  const [v0, v1] = [variance(baseline), variance(candidate)];
  return {
    sd: [Math.sqrt(v0), Math.sqrt(v1)],
    spreadDf:
      baseline.df > 0 && candidate.df > 0
        ? 1 / ((v0 / (v0 + v1)) ** 2 / baseline.df + (v1 / (v0 + v1)) ** 2 / candidate.df)
        : df,
  };
}

/** A flight by its place in the order, counted over all flights. */
interface PlacedFlight {
  readonly place: number;
  readonly block: string | null;
  readonly candidate: boolean;
}

/**
 * Places by which the candidate's flights come later than the baseline's, taken as the verdicts take a difference: within
 * blocks, each weighted as there. A steady drift of d a flight fakes a difference of d times this.
 *
 * @param flights  of one trajectory
 * @returns 0 where the order is balanced; null where a configuration was not flown
 * @example of AAABBB 3, ABABAB 1, ABBAAB 1/3, ABBA 0
 */
export function placesLater(flights: readonly PlacedFlight[]): number | null {
  const estimate = estimateDifference(
    runValues(flights.map(({ place, block, candidate }) => ({ value: place, block, candidate }))),
  );
  const later = estimate?.difference ?? differenceOfMeans(flights);
  if (later === null) return null;
  // places are whole: what is left of a balanced order is rounding
  return Math.abs(later) < 1e-9 ? 0 : later;
}

/** A lone flight in a configuration has a place, if no spread. */
function differenceOfMeans(flights: readonly PlacedFlight[]): number | null {
  const [baseline, candidate] = [false, true].map((side) => flights.filter((flight) => flight.candidate === side));
  if (baseline!.length === 0 || candidate!.length === 0) return null;
  const mean = (side: readonly PlacedFlight[]): number => side.reduce((sum, { place }) => sum + place, 0) / side.length;
  return mean(candidate!) - mean(baseline!);
}

/**
 * The guard at the door of every number of runs asked for.
 *
 * @throws CounterpoiseError  code `not-a-plan`: smallest difference not above 0; level, power or level of the spread not
 *                            inside 0 to 1; power not above the level; least runs not a whole number of at least 2
 */
export function requirePlan(
  functionName: string,
  plan: { smallestDifference: number; level: number; power: number; spreadLevel: number; leastRuns: number },
): void {
  const { smallestDifference, level, power, spreadLevel, leastRuns } = plan;
  const refuse = (expected: string, found: number): never => {
    throw new CounterpoiseError("not-a-plan", `${functionName} requires ${expected}, found ${found}`);
  };
  if (!(smallestDifference > 0 && Number.isFinite(smallestDifference))) {
    refuse("a smallest difference above 0", smallestDifference);
  }
  if (!(level > 0 && level < 1)) refuse("a level above 0 and below 1", level);
  if (!(power > level && power < 1)) refuse(`a power above the level of ${level} and below 1`, power);
  if (!(spreadLevel > 0 && spreadLevel < 1)) refuse("a level of the spread above 0 and below 1", spreadLevel);
  if (!(Number.isInteger(leastRuns) && leastRuns >= 2)) refuse("least runs of a whole number from 2 up", leastRuns);
}

interface PairLimit {
  /** standard deviation between like runs, unit of the values */
  readonly sd: number;
  readonly df: number;
  /** what the difference of two like runs stays below in 95 of 100 pairs */
  readonly limit: number;
}

/**
 * What the difference of a single pair of runs, alike in all but chance, stays below in 95 of 100 pairs:
 *
 *   limit = sqrt(2) t(0.975, df) s_r,   s_r pooled within configuration and block
 *
 * (2.8 s_r as df grows.) A pair that differs by more is worth a look; it is no verdict.
 *
 * @param options.leastDf  fewer degrees of freedom give no limit
 * @param options.level    0.95 above
 * @returns null where the runs do not say how alike like runs are
 * @source ISO 5725-6:1994, 4.1 (repeatability limit), with t in place of the normal quantile
 */
export function pairLimit(
  runs: RunValues,
  { leastDf, level }: { readonly leastDf: number; readonly level: number },
): PairLimit | null {
  const spread = spreadWithin(runs);
  const df = spread[0].df + spread[1].df;
  if (df < leastDf) return null;
  const sd = Math.sqrt((spread[0].squares + spread[1].squares) / df);
  return { sd, df, limit: Math.SQRT2 * studentTQuantile((1 + level) / 2, df) * sd };
}

/** Per configuration: sum of squares about the means of its blocks, and degrees of freedom. */
function spreadWithin(runs: RunValues): [WithinSpread, WithinSpread] {
  const { count, squares } = groupSums(runs);
  const spread: [WithinSpread, WithinSpread] = [
    { squares: 0, df: 0 },
    { squares: 0, df: 0 },
  ];
  for (let group = 0; group < count.length; group++) {
    const side = spread[(group % 2) as 0 | 1];
    side.squares += squares[group]!;
    side.df += Math.max(0, count[group]! - 1);
  }
  return spread;
}

interface WithinSpread {
  squares: number;
  df: number;
}
