import type { MeasureUnit } from "../../src/catalogue/measures.ts";
import { inShown, mostDecimals, probabilityNumber, unitName } from "../../src/words/amounts.ts";
/** Numbers and names as a person reads them. Lengths come in metres and are read in millimetres. */

/** Stands where there is no number; the page beside it says why. */
export const noValue = "–";

/** A number with fixed decimals, a true minus sign, and never "−0.0". */
export function fixed(value: number, decimals: number): string {
  const text = value.toFixed(Math.max(0, decimals));
  return /^-[0.]*$/.test(text) ? text.slice(1) : text.replace("-", "−");
}

/** As `fixed`, with + before what is above 0: for differences. */
export function signed(value: number, decimals: number): string {
  const text = fixed(value, decimals);
  return text.startsWith("−") || !/[1-9]/.test(text) ? text : `+${text}`;
}

/**
 * A sentence of the program as the pages write it: a true minus sign before a number, and curly quotes around a name.
 *
 * @example typeset('"Arm alone" by -1.2 mm') // => "“Arm alone” by −1.2 mm"
 */
export function typeset(text: string): string {
  return text.replace(/(?<![\w.)\]-])-(?=\d)/g, "−").replace(/"([^"]*)"/g, "“$1”");
}

/** Metres as millimetres, without the unit. */
export function millimetres(metres: number | null, decimals: number): string {
  return metres === null ? noValue : fixed(metres * 1000, decimals);
}

/** A difference in metres as millimetres with its sign, without the unit. */
export function signedMillimetres(metres: number | null, decimals: number): string {
  return metres === null ? noValue : signed(metres * 1000, decimals);
}

/** A number of a measure in the unit in which it is read, without the unit. */
export function amount(value: number | null, unit: MeasureUnit, decimals: number): string {
  return value === null ? noValue : fixed(inShown(value, unit), decimals);
}

/** A difference of a measure with its sign, in the unit in which it is read, without the unit. */
export function signedAmount(value: number | null, unit: MeasureUnit, decimals: number): string {
  return value === null ? noValue : signed(inShown(value, unit), decimals);
}

/** @example intervalText([-0.0044, -0.0028], "m", 1) // => "[−4.4, −2.8]" */
export function intervalText(interval: readonly [number, number] | null, unit: MeasureUnit, decimals: number): string {
  if (interval === null) return "";
  return `[${signedAmount(interval[0], unit, decimals)}, ${signedAmount(interval[1], unit, decimals)}]`;
}

/**
 * Decimals of a value, in the unit in which it is read, with this uncertainty: the uncertainty keeps two figures where it starts with 1, 2 or
 * 3, else one; never more than micrometres (tenths of a per cent), never less than whole millimetres.
 *
 * @param uncertainty  SI; half an interval's width, or a standard deviation
 * @example decimalsFor(0.0008) // => 1
 * @example decimalsFor(0.0016) // => 1
 * @example decimalsFor(0.00021) // => 2
 */
export function decimalsFor(uncertainty: number, unit: MeasureUnit = "m"): number {
  const size = Math.abs(inShown(uncertainty, unit));
  if (!(size > 0) || !Number.isFinite(size)) return 1;
  const exponent = Math.floor(Math.log10(size));
  const leading = size / 10 ** exponent;
  return Math.min(3, mostDecimals(unit), Math.max(0, (leading < 3.55 ? 1 : 0) - exponent));
}

/** A length for a sentence. */
export function lengthText(metres: number): string {
  return sizeText(metres, "m");
}

/** A number of a measure for a sentence: one decimal from 1 on, more below, none from 100 on; zeros at the end left out. */
export function sizeText(value: number, unit: MeasureUnit): string {
  const shown = inShown(value, unit);
  const size = Math.abs(shown);
  const decimals = size >= 100 ? 0 : size >= 1 || size === 0 ? 1 : size >= 0.1 ? 2 : 3;
  const text = fixed(shown, Math.min(decimals, mostDecimals(unit)));
  return `${text.includes(".") ? text.replace(/\.?0+$/, "") : text} ${unitName(unit)}`;
}

/** @example massText(0.54) // => "540 g" */
export function massText(kilograms: number): string {
  return kilograms < 1 ? `${fixed(kilograms * 1000, 0)} g` : `${fixed(kilograms, 2)} kg`;
}

/** @example percentText(-0.351) // => "−35 %" */
export function percentText(ratio: number): string {
  const percent = ratio * 100;
  return `${signed(percent, Math.abs(percent) < 10 ? 1 : 0)} %`;
}

/**
 * A p for a reader: two significant figures, more where rounding would take it to 0.05 or across; below 0.001 a bound.
 *
 * @example probabilityText(0.0123) // => "p 0.012"
 */
export function probabilityText(p: number, name = "p"): string {
  return `${name} ${probabilityValue(p)}`;
}

/** The number of `probabilityText` alone. */
export function probabilityValue(p: number | null): string {
  return p === null ? noValue : probabilityNumber(p);
}

/** @example countText(1, "run") // => "1 run" */
export function countText(count: number, one: string, many = `${one}s`): string {
  return `${count} ${count === 1 ? one : many}`;
}

/** Nanoseconds on a clock of dates (as `started` holds them) as day and time of day, UTC; other text as it is. */
export function instantText(nanoseconds: string): string {
  if (!/^\d{10,}$/.test(nanoseconds)) return nanoseconds;
  const date = new Date(Number(BigInt(nanoseconds) / 1_000_000n));
  return date.toISOString().slice(0, 16).replace("T", " ");
}
