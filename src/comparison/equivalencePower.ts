import { CounterpoiseError, NotFiniteError } from "../foundation/errors.ts";
import { chiAverage, reach } from "../numeric/chiAverage.ts";
import { normalCdf } from "../numeric/normalCdf.ts";
import { requireProbability } from "../numeric/requireProbability.ts";
import { criticalValue } from "./criticalValue.ts";

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
