import { packPieces } from "./packPieces.ts";
import { padLeft, padRight, textWidth } from "./textWidth.ts";
import { wrapText } from "./wrapText.ts";

/** One line of a table, or a line of words across it. */
export type TableRow =
  | { readonly label: string; readonly cells: readonly string[] }
  | { readonly words: string; readonly indent?: number };

/** `-123.45 ± 12.34` and a blank */
const widestColumn = 16;

/**
 * Lines of a table of numbers: labels to the left, columns to the right of their heads. A row whose numbers would touch or
 * pass the width names its heads instead, over as many lines as it takes.
 *
 * @param heads  one per column
 * @param width  columns the table may take; words longer than that are wrapped
 */
export function textTable(heads: readonly string[], rows: readonly TableRow[], width: number): string[] {
  const labels = rows.map((row) => ("label" in row ? row.label.length : 0));
  const labelWidth = Math.max(14, ...labels);
  const column = Math.min(widestColumn, Math.floor((width - labelWidth) / Math.max(1, heads.length)));
  const line = (label: string, cells: readonly string[]): string =>
    (padRight(label, labelWidth) + cells.map((cell) => padLeft(cell, column)).join("")).trimEnd();
  const body = rows.flatMap((row) => {
    if ("label" in row) {
      if (row.cells.every((cell) => textWidth(cell) < column)) return [line(row.label, row.cells)];
      const named = row.cells.map(
        (cell, index) => `${index === 0 ? `${row.label.trim()}: ` : ""}${heads[index]} ${cell}`,
      );
      const first = " ".repeat(row.label.length - row.label.trimStart().length);
      return packPieces(named, width, { between: ", ", first, rest: `${first}  ` });
    }
    const indent = " ".repeat(row.indent ?? 0);
    return wrapText(row.words, width, { first: indent, rest: `${indent}  ` });
  });
  return [line("", heads), ...body];
}
