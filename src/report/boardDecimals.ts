import type { Cell } from "../contract/cell.ts";
import { decimalsFor } from "./text/numberText.ts";

/** Decimals of the board's differences and intervals, millimetres, the same for all its cells. */
export function boardDecimals(family: readonly Cell[]): number {
  const lengths = family.flatMap(({ difference, ci95 }) => [difference ?? 0, ...(ci95 ?? [])]);
  return decimalsFor(lengths.map((metres) => metres * 1000));
}
