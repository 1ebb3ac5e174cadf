import { fixed } from "./numberText.ts";

/**
 * Metres as millimetres, for a sentence: one decimal from 1 mm on, more below, none from 100 mm on; zeros at the end left out.
 *
 * @example lengthText(0.0015) // => "1.5 mm"
 */
export function lengthText(metres: number): string {
  return `${millimetres(metres, decimals(metres))} mm`;
}

/**
 * The least and the most of several lengths, such as `1.2 to 3.4 mm`; one length where they read alike.
 *
 * @param metres  at least one
 */
export function lengthRange(metres: readonly number[]): string {
  const least = Math.min(...metres);
  const most = Math.max(...metres);
  const places = decimals(least);
  const [from, to] = [millimetres(least, places), millimetres(most, places)];
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
