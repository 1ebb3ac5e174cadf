import { gammaHalfRatio } from "../../numeric/chiScale.ts";
import { binomial } from "../../numeric/leastSquares.ts";
import { normalQuantile } from "../../numeric/normal.ts";
import { criticalValue } from "../decideVerdict.ts";
import { both, type Pair, plannedError } from "../plannedError.ts";
import { differencePower, welchPower } from "../power.ts";

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

/** What a design of blocks with equal numbers of both configurations can show by rearranging the labels. */
interface LeastAttainable {
  /** ways in which the labels could have fallen within blocks; a double beyond 2^53 */
  readonly arrangements: number;
  /** the smallest two-sided permutation p it could ever give */
  readonly leastP: number;
}

/**
 * Least attainable permutation p of a design before it is flown, by the rule of `permutationTest`: 2/N, since the mirrored
 * labels are as extreme where every block holds equal numbers of both.
 *
 *   N = product over blocks of (2 k over k)
 *
 * @param perBlock  runs per configuration in each block, whole; blocks with none are left out
 * @returns one arrangement and p = 1 where nothing can be rearranged
 * @example leastAttainable([2, 2]) // => { arrangements: 36, leastP: 2/36 }
 */
export function leastAttainable(perBlock: readonly number[]): LeastAttainable {
  let arrangements = 1;
  for (const runs of perBlock) arrangements *= binomial(2 * runs, runs);
  return { arrangements, leastP: arrangements > 1 ? 2 / arrangements : 1 };
}

/** Points of the average over how the spread is split, as in `welchPower`. */
const POINTS = 24;

/** With more degrees of freedom than this the planned ones serve: the half-width is then right to 1e-3. */
const MANY = 60;

/**
 * Half-width to be expected of Welch's interval: the mean of t((1 + level)/2, df) se, with se and df as the runs will show
 * them, not as they truly are. Exact for normal values.
 *
 * Given b, the baseline's share of the sum of both chi-squared variables (beta distributed, independent of the sum), the
 * square of se is the sum times g(b), and df follows from b alone:
 *
 *   E = E sqrt(chi-squared(f0 + f1))  average over b of t(df(b)) sqrt(g(b)),   g = b s0^2/(f0 n0) + (1 - b) s1^2/(f1 n1)
 *   E sqrt(chi-squared(f)) = sqrt(2) Gamma((f + 1)/2)/Gamma(f/2)
 *
 * The usual t(2 (n - 1)) sd sqrt(2/n) takes se as it truly is and df as planned. Of equal spreads this is 1.09 times that at
 * 3 v 3, 1.005 times at 5 v 5, 0.99 times at 12 v 12: fewer df, and se smaller on average, pull against each other.
 *
 * @param runs   per configuration, whole, at least 2
 * @param sd     true standard deviation between runs, the unit of the values, 0 or more, not both 0
 * @param level  of the interval; default 0.95
 * @returns the unit of the values
 * @throws CounterpoiseError  code `too-few-planned-runs`; code `no-planned-spread`
 * @source B. L. Welch, Biometrika 34 (1947) 28-35 (the interval); the average is elementary
 */
export function expectedHalfWidth(runs: Pair, sd: Pair, level = 0.95): number {
  const outside = (1 - level) / 2;
  const { standardError, degreesOfFreedom } = plannedError(runs, sd);
  const [n0, n1] = both(runs);
  const [s0, s1] = both(sd);
  const [f0, f1] = [n0 - 1, n1 - 1];
  const total = f0 + f1;
  if (!(total <= MANY && f0 >= 1 && f1 >= 1 && s0 > 0 && s1 > 0)) {
    return criticalValue(outside, degreesOfFreedom) * standardError * chiMean(degreesOfFreedom);
  }
  // b = sin^2 of an angle: its density is sin^(f0 - 1) cos^(f1 - 1), flat at 2 v 2 and zero at both ends from 3 v 3 on
  const peak = Math.atan2(Math.sqrt(f0 - 1), Math.sqrt(f1 - 1));
  const reach = 6 / Math.sqrt(2 * total);
  const from = total > 8 ? Math.max(0, peak - reach) : 0;
  const to = total > 8 ? Math.min(Math.PI / 2, peak + reach) : Math.PI / 2;
  // shares of the variance, so that squares neither overflow nor vanish
  const [r0, r1] = [s0 / standardError, s1 / standardError];
  let sum = 0;
  let whole = 0;
  for (let k = 0; k < POINTS; k++) {
    const angle = from + ((k + 0.5) / POINTS) * (to - from);
    const [sine, cosine] = [Math.sin(angle), Math.cos(angle)];
    const weight = sine ** (f0 - 1) * cosine ** (f1 - 1);
    const v0 = (sine * r0) ** 2 / (f0 * n0);
    const v1 = (cosine * r1) ** 2 / (f1 * n1);
    const df = (v0 + v1) ** 2 / (v0 ** 2 / f0 + v1 ** 2 / f1);
    sum += weight * criticalValue(outside, df) * Math.sqrt(v0 + v1);
    whole += weight;
  }
  return standardError * Math.sqrt(total) * chiMean(total) * (sum / whole);
}

/** Mean of an estimated over the true standard deviation. */
function chiMean(degreesOfFreedom: number): number {
  return Math.sqrt(2 / degreesOfFreedom) * gammaHalfRatio(degreesOfFreedom / 2);
}
