import type { MeasureUnit } from "../../catalogue/measures.ts";
import { inShown, mostDecimals, unitName } from "../../words/amounts.ts";
import { decimalsFor, fixed } from "./numberText.ts";

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
