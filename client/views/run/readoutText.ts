import type { Axis } from "../../../src/foundation/signals.ts";
import { fixed } from "../../app/words.ts";
import type { Column } from "../../figures/columnAt.ts";

type Span = readonly [number, number];

/** Where in the flight an instant lies: "cycle 4 at 123°", "hold", or nothing. */
export function momentText(t: number, cycles: readonly Span[], hold: Span | null): string {
  const k = cycles.findIndex(([start, end]) => t >= start && t < end);
  if (k >= 0) {
    const [start, end] = cycles[k]!;
    return `cycle ${k + 1} at ${Math.floor((360 * (t - start)) / (end - start))}°`;
  }
  return hold !== null && t >= hold[0] && t < hold[1] ? "hold" : "";
}

/** A column's extremes on an axis in millimetres: one number where it is a sample. */
export function extremesText(column: Column, axis: Axis, decimals: number): string {
  const [low, high] = column.extremes[axis];
  const [a, b] = [fixed(1e3 * low, decimals), fixed(1e3 * high, decimals)];
  return a === b ? `${a} mm` : `${a} … ${b} mm`;
}
