import type { Cell } from "../contract/cell.ts";
import { inShown, mostDecimals } from "../words/amounts.ts";
import { decimalsFor } from "./text/numberText.ts";

/** Decimals of the board's differences and intervals in the unit read, the same for all its cells. */
export function boardDecimals(family: readonly Cell[]): number {
  const shown = family.flatMap(({ difference, ci95, unit }) =>
    [difference ?? 0, ...(ci95 ?? [])].map((value) => inShown(value, unit)),
  );
  return Math.min(decimalsFor(shown), ...family.map(({ unit }) => mostDecimals(unit)));
}
