import { padRight, textWidth } from "../text/textWidth.ts";

/**
 * A table of words, every column as wide as its widest entry; columns that are empty throughout are left out.
 *
 * @param heads  one per column
 * @param rows   one entry per head, "" where there is none
 * @returns null where the width does not hold it
 */
export function leftTable(
  heads: readonly string[],
  rows: readonly (readonly string[])[],
  width: number,
): string[] | null {
  const shown = heads.flatMap((_head, k) => (rows.some((row) => row[k] !== "") ? [k] : []));
  const lines = [heads, ...rows].map((row) => shown.map((k) => row[k]!));
  const widths = shown.map((_column, k) => Math.max(...lines.map((line) => textWidth(line[k]!))));
  if (widths.reduce((sum, column) => sum + column + 2, -2) > width) return null;
  return lines.map((line) =>
    line
      .map((entry, k) => padRight(entry, widths[k]!))
      .join("  ")
      .trimEnd(),
  );
}
