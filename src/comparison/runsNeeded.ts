import { normalQuantile } from "../numeric/normalQuantile.ts";
import { differencePower } from "./differencePower.ts";
import { overSpread } from "./overSpread.ts";
import { both, type Pair } from "./plannedError.ts";
import { requirePlan } from "./requirePlan.ts";
import { smallestRuns } from "./smallestRuns.ts";
import { welchPower } from "./welchPower.ts";

/** What a number of runs is asked for. */
export interface RunsWanted {
  /** the smallest difference that matters (never the observed one), the unit of `sd`, above 0 */
  readonly smallestDifference: number;
  /** estimated standard deviation between runs, of both configurations or of either, 0 or more, not both 0 */
  readonly sd: Pair;
  /** degrees of freedom of that estimate, above 0, need not be whole */
  readonly spreadDf: number;
  /** probability of an error allowed; for a family of m, divided by m already */
  readonly level: number;
  /** probability wanted of seeing what is there, above `level`, below 1; default 0.8 */
  readonly power?: number;
  /** of the interval of the spread; default 0.95 */
  readonly spreadLevel?: number;
  /** never fewer than these, at least 2; default 3, the fewest that get a verdict */
  readonly leastRuns?: number;
}

/** Runs per configuration, over the uncertainty of the spread. */
export interface RunsOverSpread {
  /** if the true spread is at the low end of its interval */
  readonly low: number;
  /** if it is what was estimated */
  readonly middle: number;
  /** if it is at the high end */
  readonly high: number;
}

/**
 * Runs per configuration with which Welch's two-sided test finds the smallest difference with the power wanted: the smallest
 * whole number for the spread as estimated and for both ends of its interval (`overSpread`).
 *
 * Assumes equally many runs of either configuration, run values near enough to normal, spreads that stay what they are, and
 * that the difference is the smallest that matters: a larger one shows sooner. Numbers beyond `Number.MAX_SAFE_INTEGER`
 * are given as that.
 *
 * @param wanted  see RunsWanted; `level` is two-sided
 * @throws CounterpoiseError  code `not-a-plan`: an argument outside what RunsWanted says; code `no-planned-spread`;
 *                            code `not-degrees-of-freedom`
 * @source power as in `welchPower`; first guess W. C. Guenther, Am. Stat. 35 (1981) 243-244
 * @example runsNeeded({ smallestDifference: 0.5, sd: 1, spreadDf: 8, level: 0.05 }).middle // => 64 (Cohen 1988, table 2.4.1)
 */
export function runsNeeded(wanted: RunsWanted): RunsOverSpread {
  const { smallestDifference, sd, spreadDf, level, power = 0.8, spreadLevel = 0.95, leastRuns = 3 } = wanted;
  requirePlan("runsNeeded", { smallestDifference, level, power, spreadLevel, leastRuns });
  const [s0, s1] = both(sd);
  const critical = -normalQuantile(level / 2);
  const reached = (critical + normalQuantile(power)) / smallestDifference;
  return overSpread({ spreadDf, spreadLevel }, (factor) => {
    const spreads = [factor * s0, factor * s1] as const;
    const guess = reached * reached * (spreads[0] ** 2 + spreads[1] ** 2) + 0.25 * critical * critical;
    const planned = smallestRuns((runs) => differencePower(smallestDifference, { runs, sd: spreads, level }) >= power, {
      guess,
      least: leastRuns,
    });
    // with few runs Welch's test has less power than its planned degrees of freedom promise: never more
    return smallestRuns((runs) => welchPower(smallestDifference, { runs, sd: spreads, level }) >= power, {
      guess: planned,
      least: planned,
    });
  });
}
