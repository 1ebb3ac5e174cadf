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
export interface Share {
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
