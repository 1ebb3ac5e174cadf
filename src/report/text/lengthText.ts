import { decimalsFor, fixed } from "./numberText.ts";

/**
 * Metres as millimetres, for a sentence: one decimal from 1 mm on, more below, none from 100 mm on; zeros at the end left out.
 *
 * @example lengthText(0.0015) // => "1.5 mm"
 */
export function lengthText(metres: number): string {
  return `${millimetres(metres, decimals(metres))} mm`;
}

/**
 * The least and the most of several lengths, such as `1.2 to 3.4 mm`; one length where they read alike. The least decides on
 * the decimals, as long as the most does not get more than a table would give it: `0.08 to 6.12 mm`.
 *
 * @param metres  at least one
 * @param options.decimals  no more decimals than these, unless a length would read as 0; default: a table's of these lengths
 */
export function lengthRange(metres: readonly number[], options: { decimals?: number } = {}): string {
  const least = Math.min(...metres);
  const most = Math.max(...metres);
  const shown = decimalsFor(metres.map((length) => length * 1000));
  const places = Math.min(decimals(least), options.decimals ?? shown, shown);
  const told = (length: number): string => {
    const text = millimetres(length, places);
    return Number(text) === 0 ? millimetres(length, decimals(length)) : text;
  };
  const [from, to] = [told(least), told(most)];
  return `${from === to ? from : `${from} to ${to}`} mm`;
}

function decimals(metres: number): number {
  const size = Math.abs(metres) * 1000;
  if (size >= 100) return 0;
  if (size >= 1 || size === 0) return 1;
  return size >= 0.1 ? 2 : 3;
}

function millimetres(metres: number, places: number): string {
  const text = fixed(metres * 1000, places);
  return text.includes("e") || !text.includes(".") ? text : text.replace(/\.?0+$/, "");
}
