import type { Cell } from "../contract/cell.ts";
import type { Settings } from "../contract/settings.ts";
import { normalQuantile } from "../numeric/normal.ts";
import { overSpread } from "./decideVerdict.ts";
import type { CellTest, FamilyMember } from "./judgeFamily.ts";
import { both, type Pair, plannedError, plannedSpread, requirePlan } from "./plannedError.ts";
import { differencePower, equivalencePower, welchEquivalencePower, welchPower } from "./power.ts";

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
interface RunsOverSpread {
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

/**
 * Runs per configuration with which two one-sided tests show that a difference does not matter, with the power wanted, where
 * there truly is none: the smallest whole number for the spread as estimated and for both ends of its interval
 * (`overSpread`). A true difference short of the margin takes more.
 *
 * Assumptions and limits as in `runsNeeded`.
 *
 * @param wanted  see RunsWanted; `smallestDifference` is the margin on both sides, `level` that of either test (0.05 for a
 *                90 % interval), below 0.5
 * @throws CounterpoiseError  code `not-a-plan`: an argument outside what RunsWanted says; code `no-planned-spread`;
 *                            code `not-degrees-of-freedom`; code `not-a-probability`: a level of 0.5 or more
 * @source power as in `equivalencePower`; first guess S.-C. Chow, J. Shao, H. Wang, Sample Size Calculations in Clinical
 *         Research (2008), section 3.2.3
 * @example runsForEquivalence({ smallestDifference: 1, sd: 1, spreadDf: 8, level: 0.05 }).middle // => 18
 */
export function runsForEquivalence(wanted: RunsWanted): RunsOverSpread {
  const { smallestDifference, sd, spreadDf, level, power = 0.8, spreadLevel = 0.95, leastRuns = 3 } = wanted;
  requirePlan("runsForEquivalence", { smallestDifference, level, power, spreadLevel, leastRuns });
  const [s0, s1] = both(sd);
  const critical = -normalQuantile(level);
  // both tests must pass: each may miss half of what may be missed
  const reached = (critical + normalQuantile(0.5 + 0.5 * power)) / smallestDifference;
  return overSpread({ spreadDf, spreadLevel }, (factor) => {
    const spreads = [factor * s0, factor * s1] as const;
    const guess = reached * reached * (spreads[0] ** 2 + spreads[1] ** 2) + 0.25 * critical * critical;
    const enough = (runs: number): boolean =>
      equivalencePower(0, { margin: smallestDifference, ...plannedError(runs, spreads), level }) >= power;
    const planned = smallestRuns(enough, { guess, least: leastRuns });
    // with few runs the tests have less power than their planned degrees of freedom promise: never more
    return smallestRuns((runs) => welchEquivalencePower(smallestDifference, { runs, sd: spreads, level }) >= power, {
      guess: planned,
      least: planned,
    });
  });
}

/**
 * Runs per configuration that a cell would need to show its smallest difference, from the spread its runs have shown.
 *
 * @returns null where no smallest difference is declared or the runs have shown no spread
 */
export function runsNeededOf(
  member: FamilyMember,
  test: CellTest,
  { familySize, settings }: { readonly familySize: number; readonly settings: Settings },
): Cell["runs_needed"] {
  const spread = plannedSpread(member, test);
  if (member.margin === null || spread === null) return null;
  return runsNeeded({
    ...spread,
    smallestDifference: member.margin,
    level: settings.family_error / familySize,
    power: settings.power,
    spreadLevel: settings.spread_level,
    leastRuns: settings.least_runs,
  });
}

/**
 * Smallest whole number of runs that is enough, found from a guess: ever longer strides away from it until the answer lies
 * between two numbers, then halving. A good guess takes two looks, a poor one twice the logarithm of its error.
 *
 * @param enough         no before some number, yes from there on
 * @param options.guess  where to begin; need not be whole, may be infinite
 * @param options.least  never fewer than these
 * @returns at most `Number.MAX_SAFE_INTEGER`, which also stands for all beyond
 * @example smallestRuns((runs) => runs * runs > 50, { guess: 3, least: 2 }) // => 8
 */
export function smallestRuns(enough: (runs: number) => boolean, options: { guess: number; least: number }): number {
  const { guess, least } = options;
  const most = Number.MAX_SAFE_INTEGER;
  const first = Math.min(most, Math.max(least, Math.ceil(guess)));
  // known to be too few, known to be enough
  let few = least - 1;
  let plenty = most;
  let stride = 1;
  if (enough(first)) {
    plenty = first;
    while (plenty > least) {
      const fewer = Math.max(least, plenty - stride);
      if (!enough(fewer)) {
        few = fewer;
        break;
      }
      plenty = fewer;
      stride *= 2;
    }
  } else {
    few = first;
    while (few < most) {
      const more = Math.min(most, few + stride);
      if (more === most || enough(more)) {
        plenty = more;
        break;
      }
      few = more;
      stride *= 2;
    }
  }
  while (plenty - few > 1) {
    const between = few + Math.floor((plenty - few) / 2);
    if (enough(between)) plenty = between;
    else few = between;
  }
  return plenty;
}
