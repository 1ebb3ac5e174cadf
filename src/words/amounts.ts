import { type MeasureUnit, measureUnits } from "../catalogue/measures.ts";

/** The unit in which a person reads a measure: "mm" for metres, "deg" for radians, "%" for shares. */
export function unitName(unit: MeasureUnit): string {
  return measureUnits[unit].shown;
}

/** A number in SI as the number of the unit in which a person reads it. */
export function inShown(value: number, unit: MeasureUnit): number {
  return value * measureUnits[unit].factor;
}

/** Decimals at most, in the unit shown: micrometres, thousandths of a degree, tenths of a per cent. */
export function mostDecimals(unit: MeasureUnit): number {
  return measureUnits[unit].decimals;
}

/** What a difference of a measure that falls, or rises, where the flight is steadier looks like. */
export function signWords(steadier: "lower" | "higher"): string {
  return steadier === "lower" ? "negative is steadier" : "positive is steadier";
}

/** Per cent with as many decimals; never "-0". */
function percent(share: number, decimals: number): string {
  const text = (100 * share).toFixed(decimals);
  return /^-[0.]*$/.test(text) ? text.slice(1) : text;
}

/**
 * An interval of a share as a person reads it; an end that is not bounded is left open.
 *
 * @example percentRange([0.62, 0.958]) // => "62 to 96 %"
 * @example percentRange([0.62, null]) // => "at least 62 %"
 */
export function percentRange([low, high]: readonly [number | null, number | null], decimals = 0): string {
  if (low !== null && high !== null) return `${percent(low, decimals)} to ${percent(high, decimals)} %`;
  if (low !== null) return `at least ${percent(low, decimals)} %`;
  return high === null ? "no limits" : `at most ${percent(high, decimals)} %`;
}

/** A change as a share of its baseline. */
interface Share {
  readonly ratio: number | null;
  /** null where the baseline is not distinguished from zero, or the runs show no spread: then the share is no number to show */
  readonly ratio_ci95: readonly [number | null, number | null] | null;
}

/**
 * A share of the baseline and its 95 % interval, in two pieces that may stand on two lines; none without an interval.
 *
 * @example percentPieces({ ratio: -0.351, ratio_ci95: [-0.52, -0.21] }) // => ["-35 %", "(-52 to -21 %)"]
 */
export function percentPieces({ ratio, ratio_ci95: interval }: Share): string[] {
  if (ratio === null || interval === null) return [];
  const decimals = Math.abs(ratio) < 0.1 && ratio !== 0 ? 1 : 0;
  // an interval that reaches far needs no tenths
  const far = interval.some((end) => end !== null && Math.abs(end) >= 0.1);
  return [`${ratio > 0 ? "+" : ""}${percent(ratio, decimals)} %`, `(${percentRange(interval, far ? 0 : decimals)})`];
}

/** the level that separates verdicts: a rounded p must not seem to lie on its other side, or on it */
const level = 0.05;

/**
 * A p for a reader, the number alone: two significant figures, more where rounding would take it to 0.05 or across; below
 * 0.001 a bound.
 *
 * @example probabilityNumber(0.0123) // => "0.012"
 * @example probabilityNumber(0.0496) // => "0.0496"
 */
export function probabilityNumber(p: number): string {
  if (p < 0.001) return "< 0.001";
  let digits = 2;
  while (digits < 15 && p !== level && Math.sign(Number(p.toPrecision(digits)) - level) !== Math.sign(p - level))
    digits++;
  return String(Number(p.toPrecision(digits)));
}

/**
 * A list as it is read aloud.
 *
 * @example joinWords(["x", "y", "z"]) // => "x, y and z"
 */
export function joinWords(words: readonly string[]): string {
  return words.length < 2 ? (words[0] ?? "") : `${words.slice(0, -1).join(", ")} and ${words.at(-1)}`;
}

/** Stands where there is no number. */
const none = "–";

/**
 * A displacement ratio and its interval. No value without an interval, nor where the runs set no upper limit to it: the baseline is then
 * not distinguished from zero.
 *
 * @example ratioTexts({ ratio: 0.29, ratio_ci95: [0.27, 0.32] }) // => ["0.29", "0.27 to 0.32"]
 * @example ratioTexts({ ratio: 50.7, ratio_ci95: [10.2, null] }) // => ["–", "at least 10.20"]
 */
export function ratioTexts({
  ratio,
  ratio_ci95: interval,
}: {
  readonly ratio: number | null;
  readonly ratio_ci95: readonly [number, number | null] | null;
}): readonly [string, string] {
  if (ratio === null || interval === null) return [none, none];
  const [low, high] = interval;
  return high === null
    ? [none, `at least ${low.toFixed(2)}`]
    : [ratio.toFixed(2), `${low.toFixed(2)} to ${high.toFixed(2)}`];
}
