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
