import { CounterpoiseError, NotFiniteError } from "../foundation/errors.ts";
import { chiAverage, reach } from "../numeric/chiScale.ts";
import { normalCdf } from "../numeric/normal.ts";
import { requireProbability } from "../numeric/requireArguments.ts";
import { noncentralTCdf } from "../numeric/studentT.ts";
import { criticalValue } from "./decideVerdict.ts";
import { both, type Pair, plannedError } from "./plannedError.ts";

/** Points of the average over how the spread is split; 12 give five digits down to 4 runs, 24 down to 3. */
const POINTS = 24;

/** With more degrees of freedom than this the planned ones are right to 2e-3 of the power, and cheaper. */
const MANY = 60;

/**
 * Average of a power of Welch's test over the degrees of freedom it will have, which are estimated from the runs.
 *
 * Given b, the baseline's share of the sum of both chi-squared variables (beta distributed, with half their degrees of freedom
 * f0 and f1, and independent of the sum), standard error and degrees of freedom are fixed parts of the sum:
 *
 *   average over b of power(df(b), sqrt((f0 + f1) g(b)) / se),   g = b s0^2/(f0 n0) + (1 - b) s1^2/(f1 n1)
 *
 * @param power  of the test whose critical value is that of the first, times the second, in true standard errors, for an
 *               estimate of the spread with f0 + f1 degrees of freedom
 * @returns null where the planned degrees of freedom serve: many runs, fewer than three of either, or one spread of 0
 * @source B. L. Welch, Biometrika 34 (1947) 28-35 (the test); the average is elementary
 */
function splitAverage(
  runs: Pair,
  sd: Pair,
  power: (degreesOfFreedom: number, scale: number, total: number) => number,
): number | null {
  const [n0, n1] = both(runs);
  const [s0, s1] = both(sd);
  const [f0, f1] = [n0 - 1, n1 - 1];
  const total = f0 + f1;
  // the split of the spread has no peak below 2 degrees of freedom of either
  if (!(total <= MANY && f0 >= 2 && f1 >= 2 && s0 > 0 && s1 > 0)) return null;
  const { standardError } = plannedError(runs, sd);
  // b = sin^2 of an angle: its density is sin^(f0 - 1) cos^(f1 - 1), smooth and 0 at both ends
  const peak = Math.atan2(Math.sqrt(f0 - 1), Math.sqrt(f1 - 1));
  const reach = 6 / Math.sqrt(2 * total);
  const from = Math.max(0, peak - reach);
  const step = (Math.min(Math.PI / 2, peak + reach) - from) / POINTS;
  let sum = 0;
  let whole = 0;
  for (let k = 0; k < POINTS; k++) {
    const angle = from + (k + 0.5) * step;
    const weight = Math.sin(angle) ** (f0 - 1) * Math.cos(angle) ** (f1 - 1);
    const v0 = (Math.sin(angle) * s0) ** 2 / (f0 * n0);
    const v1 = (Math.cos(angle) * s1) ** 2 / (f1 * n1);
    const degreesOfFreedom = (v0 + v1) ** 2 / (v0 ** 2 / f0 + v1 ** 2 / f1);
    sum += weight * power(degreesOfFreedom, Math.sqrt(total * (v0 + v1)) / standardError, total);
    whole += weight;
  }
  return Math.min(1, sum / whole);
}

/**
 * Power of Welch's test: how often it calls a true difference significant.
 *
 *   P(|T| > t(1 - level/2, df)),   T noncentral t with df and noncentrality difference / se; se and df of `plannedError`
 *
 * Both tails count, also the one on the wrong side (R: `power.t.test(strict = TRUE)`). Exact for the pooled t test at equal
 * runs and spreads. Welch's test estimates its degrees of freedom and so has fewer: with few runs it reaches less than
 * this, which `welchPower` counts.
 *
 * @param difference        true difference of the means, the unit of the values; its sign does not matter
 * @param options.runs      per configuration, above 1; need not be whole
 * @param options.sd        true standard deviation between runs, the unit of the values
 * @param options.level     probability of a false alarm; default 0.05
 * @param options.oneSided  only a difference in the true direction counts, at the whole level; default false
 * @returns 0 to 1
 * @throws NotFiniteError     the difference is NaN or infinite
 * @throws CounterpoiseError  code `not-a-probability`; code `too-few-planned-runs`; code `no-planned-spread`
 * @source D. B. Owen, J. Am. Stat. Assoc. 60 (1965) 320-333 (power of the t test); Satterthwaite as in `plannedError`
 * @example differencePower(1, { runs: 20, sd: 1 }) // => 0.8689530 (R's example of power.t.test, strict; 0.8689528 without the wrong side)
 */
export function differencePower(
  difference: number,
  options: { runs: Pair; sd: Pair; level?: number; oneSided?: boolean },
): number {
  const { runs, sd, level = 0.05, oneSided = false } = options;
  if (!Number.isFinite(difference)) throw new NotFiniteError("differencePower", 0, difference);
  requireProbability("differencePower", level);
  const { standardError, degreesOfFreedom } = plannedError(runs, sd);
  const noncentrality = Math.abs(difference) / standardError;
  // a ratio beyond all numbers: the difference cannot be missed
  if (noncentrality === Number.POSITIVE_INFINITY) return level > 0 ? 1 : 0;
  const critical = criticalValue(oneSided ? level : level / 2, degreesOfFreedom);
  const right = noncentralTCdf(-critical, degreesOfFreedom, -noncentrality);
  // at most normalCdf(-noncentrality): nothing in sixteen digits beyond 9
  if (oneSided || noncentrality > 9) return right;
  return Math.min(1, right + noncentralTCdf(-critical, degreesOfFreedom, noncentrality));
}

/**
 * Exact power of two one-sided tests: how often the interval of 1 - 2 level comes to lie inside the margins.
 *
 * Given the estimated over the true spread, s, both tests pass when the estimate lies between low + t se s and
 * high - t se s, t = t(1 - level, df); the probability of that is averaged over s, up to the s at which the two meet:
 *
 *   average over s of  normalCdf((high - difference) / se - t s) - normalCdf((low - difference) / se + t s)
 *
 * Not the two powers added up less 1, which is too small (and negative) with few runs.
 *
 * @param difference                true difference, inside the margins or out
 * @param options.margin            what does not matter yet: one number for both sides, or [low, high]
 * @param options.standardError     true standard error of the estimated difference, above 0
 * @param options.degreesOfFreedom  of its estimate, above 0, need not be whole
 * @param options.level             of either test, above 0 and below 0.5; default 0.05
 * @returns 0 to 1
 * @throws NotFiniteError     the difference is NaN or infinite
 * @throws CounterpoiseError  code `not-a-margin`; code `no-planned-spread`; code `not-a-probability`;
 *                            code `not-degrees-of-freedom`
 * @source D. J. Schuirmann, J. Pharmacokinet. Biopharm. 15 (1987) 657-680 (the tests); D. B. Owen, Biometrika 52 (1965)
 *         437-446 (their joint distribution)
 * @example equivalencePower(-0.05, { margin: 0.2, standardError: 0.2 * Math.sqrt(1 / 12), degreesOfFreedom: 46 }) // => 0.815435
 */
export function equivalencePower(
  difference: number,
  options: {
    margin: number | readonly [number, number];
    standardError: number;
    degreesOfFreedom: number;
    level?: number;
    /** of either test, in true standard errors where the spread comes out as it is; default that of `degreesOfFreedom` */
    critical?: number;
  },
): number {
  const { margin, standardError, degreesOfFreedom, level = 0.05 } = options;
  const [low, high] = typeof margin === "number" ? [-margin, margin] : margin;
  if (!Number.isFinite(difference)) throw new NotFiniteError("equivalencePower", 0, difference);
  if (!(low < high && Number.isFinite(high - low))) {
    throw new CounterpoiseError(
      "not-a-margin",
      `equivalencePower requires finite margins, low below high, found ${low} and ${high}`,
    );
  }
  if (!(standardError > 0 && Number.isFinite(standardError))) {
    throw new CounterpoiseError(
      "no-planned-spread",
      `equivalencePower requires a standard error above 0, found ${standardError}`,
    );
  }
  requireProbability("equivalencePower", level);
  if (level === 0) return 0;
  if (level >= 0.5) {
    throw new CounterpoiseError("not-a-probability", `equivalencePower requires a level below 0.5, found ${level}`);
  }
  const critical = options.critical ?? criticalValue(level, degreesOfFreedom);
  const above = (high - difference) / standardError;
  const below = (low - difference) / standardError;
  const limit = (above - below) / (2 * critical);
  const largest = critical * Math.min(limit, Math.exp(reach(40 / degreesOfFreedom)[1]));
  const detail = Math.min(largest, Math.max(Math.abs(above), Math.abs(below)));
  const inside = (s: number): number => Math.max(0, normalCdf(above - critical * s) - normalCdf(below + critical * s));
  return Math.min(1, chiAverage(degreesOfFreedom, inside, { detail, limit }));
}

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
