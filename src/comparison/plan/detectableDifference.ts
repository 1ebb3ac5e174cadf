import { normalQuantile } from "../../numeric/normalQuantile.ts";
import { criticalValue } from "../criticalValue.ts";
import { differencePower } from "../differencePower.ts";
import { type Pair, plannedError } from "../plannedError.ts";
import { welchPower } from "../welchPower.ts";

/** So near to the power wanted, in its normal quantile, one more step along the line needs no further look: it ends at six digits. */
const close = 2e-3;

/**
 * Smallest true difference that Welch's two-sided test finds with the power wanted: the inverse of the power that `runsNeeded`
 * asks for (`welchPower`, never more than `differencePower`), in its first argument. It grows in proportion to the spread.
 *
 * The normal quantile of a power is nearly a straight line in the difference: first the cheap inverse of `differencePower`,
 * then a few looks at the whole.
 *
 * @param options.runs   per configuration, at least 2
 * @param options.sd     true standard deviation between runs, the unit of the values, not both 0
 * @param options.level  two-sided, above 0
 * @param options.power  above `level`, below 1
 * @returns the unit of the values
 * @throws CounterpoiseError  as `welchPower`
 * @example detectableDifference({ runs: 20, sd: 1, level: 0.05, power: 0.8 }) // => 0.909
 */
export function detectableDifference(options: { runs: Pair; sd: Pair; level: number; power: number }): number {
  const { runs, sd, level, power } = options;
  const { standardError, degreesOfFreedom } = plannedError(runs, sd);
  const aims = { runs, sd, level };
  const wanted = normalQuantile(power);
  const gap = (found: number): number => normalQuantile(Math.min(1 - 1e-15, Math.max(1e-300, found))) - wanted;
  const planned = (ratio: number): number => gap(differencePower(ratio * standardError, aims));
  const whole = (ratio: number): number => Math.min(planned(ratio), gap(welchPower(ratio * standardError, aims)));
  const guess = Math.max(0.1, criticalValue(level / 2, degreesOfFreedom) + wanted);
  const first = crossing(planned, { x: guess, slope: 1 });
  return standardError * crossing(whole, first).x;
}

/** A place on a curve, and how steeply it rises there. */
interface Place {
  readonly x: number;
  readonly slope: number;
}

/**
 * Where a rising curve is 0: steps along the line through the last two points, kept between what is known to be too small
 * and too large.
 *
 * @param from  above 0; the first step takes its slope
 */
function crossing(curve: (x: number) => number, from: Place): Place {
  let [small, large] = [0, Number.POSITIVE_INFINITY];
  let { x, slope } = from;
  let y = curve(x);
  for (let look = 0; look < 60 && Math.abs(y) > close; look++) {
    if (y < 0) small = x;
    else large = x;
    let next = x - y / slope;
    // outside what is known, or far: halve, or double
    if (!(next > small && next < Math.min(large, 4 * x))) {
      next = large === Number.POSITIVE_INFINITY ? 2 * x : 0.5 * (small + large);
    }
    const found = curve(next);
    slope = (found - y) / (next - x);
    [x, y] = [next, found];
  }
  return { x: x - y / slope, slope };
}
