import { criticalValue } from "./criticalValue.ts";
import { equivalencePower } from "./equivalencePower.ts";
import { type Pair, plannedError } from "./plannedError.ts";
import { splitAverage } from "./splitAverage.ts";

/**
 * Power of two one-sided Welch tests, where there truly is no difference, with the degrees of freedom they will have: those are
 * estimated from the runs, and so fewer than the planned ones, with which 3 v 3 runs would be promised 80 % and reach 75.
 *
 * Exact for normal values, as `welchPower`.
 *
 * @param margin   what does not matter yet, on both sides, above 0
 * @param options  runs per configuration, true spreads between runs, level of either test (below 0.5)
 * @throws CounterpoiseError  as `plannedError` and `equivalencePower`
 */
export function welchEquivalencePower(margin: number, options: { runs: Pair; sd: Pair; level: number }): number {
  const { runs, sd, level } = options;
  const planned = plannedError(runs, sd);
  const { standardError } = planned;
  const power = splitAverage(runs, sd, (degreesOfFreedom, scale, total) =>
    equivalencePower(0, {
      margin,
      standardError,
      degreesOfFreedom: total,
      level,
      critical: criticalValue(level, degreesOfFreedom) * scale,
    }),
  );
  return power ?? equivalencePower(0, { margin, ...planned, level });
}
