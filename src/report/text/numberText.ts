import type { Spread } from "./spread.ts";

/** Stands where there is no number; every table that holds one says why. */
export const noValue = "–";

/**
 * Decimals for the numbers of one table: two where the largest is 1 to 100, fewer above and more below, at most four.
 *
 * @param values  in the unit shown
 * @example decimalsFor([12.3, -4.5]) // => 2
 */
export function decimalsFor(values: Iterable<number>): number {
  let largest = 0;
  for (const value of values) largest = Math.max(largest, Math.abs(value));
  if (largest >= 1000) return 0;
  if (largest >= 100) return 1;
  if (largest >= 1 || largest === 0) return 2;
  return largest >= 0.1 ? 3 : 4;
}

/** What takes six figures before the point would break a table's columns. */
const longest = 99_999.5;

/** A number with fixed decimals; never "-0.00". From 100 000 on in powers of ten, such as `1.5e6`. */
export function fixed(value: number, decimals: number): string {
  if (Math.abs(value) >= longest) return value.toExponential(1).replace("e+", "e");
  const text = value.toFixed(decimals);
  return /^-[0.]*$/.test(text) ? text.slice(1) : text;
}

/** Mean and sd between runs, such as `4.21 ± 0.31`; the sd is a dash where only one run has the value. */
export function spreadText(spread: Spread | null, decimals: number, factor = 1): string {
  if (spread === null) return noValue;
  const sd = spread.sd === null ? noValue : fixed(spread.sd * factor, decimals);
  return `${fixed(spread.mean * factor, decimals)} ± ${sd}`;
}
