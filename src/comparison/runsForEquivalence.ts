import { normalQuantile } from "../numeric/normalQuantile.ts";
import { equivalencePower } from "./equivalencePower.ts";
import { overSpread } from "./overSpread.ts";
import { both, plannedError } from "./plannedError.ts";
import { requirePlan } from "./requirePlan.ts";
import type { RunsOverSpread, RunsWanted } from "./runsNeeded.ts";
import { smallestRuns } from "./smallestRuns.ts";
import { welchEquivalencePower } from "./welchEquivalencePower.ts";

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
