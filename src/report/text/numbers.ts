import type { MeasureUnit } from "../../catalogue/measures.ts";
import { mean, sampleStandardDeviation } from "../../numeric/descriptive.ts";
import { inShown, mostDecimals, probabilityNumber, unitName } from "../../words/amounts.ts";

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

/**
 * Several counts as their least and most.
 *
 * @param counts  at least one
 * @example countRange([3, 5, 4]) // => "3 to 5"
 */
export function countRange(counts: readonly number[]): string {
  const [fewest, most] = [Math.min(...counts), Math.max(...counts)];
  return fewest === most ? `${most}` : `${fewest} to ${most}`;
}

/**
 * All of some things, as it is said: "the one cell", "both cells", "all 6 cells".
 *
 * @param plural  the thing's name for more than one
 */
export function allOf(count: number, singular: string, plural: string): string {
  if (count === 1) return `the one ${singular}`;
  return count === 2 ? `both ${plural}` : `all ${count} ${plural}`;
}

/**
 * Metres as millimetres, for a sentence; see `sizeText`.
 *
 * @example lengthText(0.0015) // => "1.5 mm"
 */
export function lengthText(metres: number): string {
  return sizeText(metres, "m");
}

/**
 * A number of a measure with its unit, for a sentence: one decimal from 1 on (in the unit read), more below, none from 100 on;
 * zeros at the end left out.
 *
 * @param value  SI
 */
export function sizeText(value: number, unit: MeasureUnit): string {
  const shown = inShown(value, unit);
  return `${trimmed(shown, Math.min(decimals(shown), mostDecimals(unit)))} ${unitName(unit)}`;
}

/**
 * The least and the most of several numbers, such as `1.2 to 3.4 mm`; one where they read alike. The least decides on the
 * decimals, as long as the most does not get more than a table would give it: `0.08 to 6.12 mm`.
 *
 * @param values  at least one, SI
 * @param options.decimals  no more decimals than these, unless a number would read as 0; default: a table's of these numbers
 */
export function sizeRange(
  values: readonly number[],
  { unit = "m", ...options }: { unit?: MeasureUnit; decimals?: number } = {},
): string {
  const shown = values.map((value) => inShown(value, unit));
  const least = Math.min(...shown);
  const most = Math.max(...shown);
  const tabled = Math.min(decimalsFor(shown), mostDecimals(unit));
  const places = Math.min(decimals(least), options.decimals ?? tabled, tabled);
  const read = (value: number): string => {
    const text = trimmed(value, places);
    return Number(text) === 0 ? trimmed(value, Math.min(decimals(value), mostDecimals(unit))) : text;
  };
  const [from, to] = [read(least), read(most)];
  return `${from === to ? from : `${from} to ${to}`} ${unitName(unit)}`;
}

function decimals(shown: number): number {
  const size = Math.abs(shown);
  if (size >= 100) return 0;
  if (size >= 1 || size === 0) return 1;
  return size >= 0.1 ? 2 : 3;
}

function trimmed(shown: number, places: number): string {
  const text = fixed(shown, places);
  return text.includes("e") || !text.includes(".") ? text : text.replace(/\.?0+$/, "");
}

/** A p with its name, such as `p 0.012`. */
export function probabilityText(p: number): string {
  return `p ${probabilityNumber(p)}`;
}

/** What a logger lost because it could not write fast enough: the file is sound, its signals have gaps. */
export function dropoutText({ count, seconds }: { readonly count: number; readonly seconds: number }): string {
  return `the logger could not keep up ${count} time${count === 1 ? "" : "s"} and lost ${seconds.toFixed(3)} s in all, which shows as gaps of its signals`;
}

/** Values of several runs in short. */
export interface Spread {
  /** runs that have the value */
  readonly n: number;
  readonly mean: number;
  /** between runs, with n - 1; null for one run */
  readonly sd: number | null;
}

/**
 * Mean and sample standard deviation (n - 1) over runs; runs without the value are left out and `n` says how many have it.
 *
 * @param values  one value per run, null where the run has none
 * @returns null where no run has one
 * @throws NotFiniteError  NaN or infinity
 */
export function spreadOf(values: readonly (number | null | undefined)[]): Spread | null {
  const known = Float64Array.from(values.filter((value) => value !== null && value !== undefined));
  if (known.length === 0) return null;
  return { n: known.length, mean: mean(known), sd: known.length < 2 ? null : sampleStandardDeviation(known) };
}
