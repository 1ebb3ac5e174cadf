import { padLeft, padRight } from "./textWidth.ts";
import { wrapText } from "./wrapText.ts";

/** One line of a table, or a line of words across it. */
export type TableRow =
  | { readonly label: string; readonly cells: readonly string[] }
  | { readonly heading: string; readonly beside?: string };

/**
 * Lines of a table of numbers: labels to the left, columns to the right of their heads.
 *
 * @param heads  one per column
 * @param width  columns the table may take; headings longer than that are wrapped
 */
export function textTable(heads: readonly string[], rows: readonly TableRow[], width: number): string[] {
  const labels = rows.map((row) => ("label" in row ? row.label.length : 0));
  const labelWidth = Math.max(12, ...labels);
  const column = Math.max(8, Math.floor((width - labelWidth) / Math.max(1, heads.length)));
  const capped = Math.min(column, 17);
  const line = (label: string, cells: readonly string[]): string =>
    (padRight(label, labelWidth) + cells.map((cell) => padLeft(cell, capped)).join("")).trimEnd();
  const body = rows.flatMap((row) => {
    if ("label" in row) return [line(row.label, row.cells)];
    const text = row.beside ? `${row.heading}  ${row.beside}` : row.heading;
    return wrapText(text, width, { first: "", rest: "  " });
  });
  return [line("", heads), ...body];
}
