import { decimalsFor, fixed } from "../app/words.ts";

/**
 * Metres as "0.74 ± 0.57" millimetres, both to the digits that the uncertainty warrants.
 *
 * @param error  standard error, metres; null or zero: the value alone, to hundredths
 */
export function uncertainMillimetres(value: number, error: number | null): string {
  if (error === null || !(error > 0)) return fixed(1e3 * value, 2);
  const decimals = decimalsFor(error);
  return `${fixed(1e3 * value, decimals)} ± ${fixed(1e3 * error, decimals)}`;
}

/** Radians as whole degrees, 0 to 359. */
export function degreesText(radians: number): string {
  return `${((Math.round((radians * 180) / Math.PI) % 360) + 360) % 360}°`;
}

/** Metres as millimetres for a table that a program may read on: a tenth of a micrometre at the finest. */
export const tableMillimetres = (metres: number): number => Number((1e3 * metres).toFixed(4));
