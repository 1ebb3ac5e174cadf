import { noncentralTCdf } from "../numeric/noncentralTCdf.ts";
import { criticalValue } from "./criticalValue.ts";
import { differencePower } from "./differencePower.ts";
import { type Pair, plannedError } from "./plannedError.ts";
import { splitAverage } from "./splitAverage.ts";

/**
 * Power of Welch's test with the degrees of freedom it will have: those are estimated from the runs, and so fewer than the
 * planned ones that `differencePower` uses. With 4 v 4 runs at 0.05/12 that is 0.66 where the planned ones promise 0.80.
 *
 * Exact for normal values: averaged over how the spread may be split (`splitAverage`), given which the test is a noncentral t
 * with f0 + f1 degrees of freedom.
 *
 * @param options  as for `differencePower`, two-sided
 * @throws NotFiniteError, CounterpoiseError  as `differencePower`
 * @source B. L. Welch, Biometrika 34 (1947) 28-35 (the test); the average is elementary
 * @example welchPower(4, { runs: 4, sd: 1, level: 0.05 / 12 }) // => 0.66237
 */
export function welchPower(difference: number, options: { runs: Pair; sd: Pair; level: number }): number {
  const { runs, sd, level } = options;
  const noncentrality = Math.abs(difference) / plannedError(runs, sd).standardError;
  if (noncentrality === Number.POSITIVE_INFINITY) return differencePower(difference, options);
  const power = splitAverage(runs, sd, (degreesOfFreedom, scale, total) => {
    const critical = criticalValue(level / 2, degreesOfFreedom) * scale;
    const right = noncentralTCdf(-critical, total, -noncentrality);
    // the tail on the wrong side: at most normalCdf(-noncentrality)
    return noncentrality < 9 ? right + noncentralTCdf(-critical, total, noncentrality) : right;
  });
  return power ?? differencePower(difference, options);
}
