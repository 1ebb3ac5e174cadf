import { closingQuote } from "../../foundation/csvField.ts";
import type { TableLayout } from "./Tabular.ts";
import { isFilled, isNumber } from "./timeKind.ts";

const mostHeadingLines = 8;

/**
 * The line below the heading: the first row, unless nothing but empty lines and remarks part it from a line of words with a
 * cell for each column.
 */
export function belowHeading(
  lines: readonly string[],
  cells: readonly (readonly string[])[],
  first: number,
  columns: number,
): number {
  let at = first;
  const parts = (line: number): boolean =>
    lines[line]!.trim() === "" || (!isFilled(lines[line]!) && cells[line]!.length < columns - 1);
  while (at > 0 && parts(at - 1)) at--;
  const above = cells[at - 1];
  return above?.length === columns && !above.some(isNumber) ? at : first;
}

/** The line at which the heading above the first row begins; the first row itself where there is none. */
export function headingOf(
  lines: readonly string[],
  cells: readonly (readonly string[])[],
  first: number,
  columns: number,
): number {
  let at = first;
  while (at > 0 && first - at < mostHeadingLines) {
    const above = cells[at - 1]!;
    const lowest = at === first;
    const enough = lowest ? above.length >= columns - 1 : above.length > columns / 2 && above.length >= 2;
    if (lines[at - 1]!.trim() === "" || !enough || above.length > columns + 1) break;
    at--;
  }
  return at;
}

/**
 * A heading one name short of the rows, as where row numbers or the dates before the times of day bear no name: moved to
 * the right there; null where nothing tells which column is the nameless one.
 */
export function fittedHeading(
  head: readonly string[][],
  rows: readonly (readonly string[])[],
  columns: number,
): readonly string[][] | null {
  const lowest = head.at(-1);
  if (lowest === undefined || lowest.length !== columns - 1) return head;
  const full = rows.filter(({ length }) => length === columns);
  // a separator at the end of the rows only
  if (full.every((row) => row[columns - 1] === "")) return head;
  const counted = full.every((row, k) => /^\d+$/.test(row[0]!) && Number(row[0]) === Number(full[0]![0]) + k);
  const parted = full.every(([date, time]) => /^\d{4}[-/.]\d/.test(date!) && /^\d\d?:\d\d/.test(time!));
  return counted || parted ? head.map((row) => ["", ...row]) : null;
}

type Cut = Pick<TableLayout, "separator" | "brackets">;

/**
 * The cells of one line, as text without the blanks and quotes around them. For headings and samples; the rows are
 * walked byte by byte in `walkRows`, by the same rules.
 */
export function splitLine(line: string, { separator, brackets }: Cut): string[] {
  const cells: string[] = [];
  let rest = line;
  for (let k = 0; k < brackets; k++) {
    const group = /^\s*\[([^\]]*)\]/.exec(rest);
    if (group === null) return [];
    cells.push(group[1]!.trim());
    rest = rest.slice(group[0].length);
  }
  if (separator === "blanks") {
    const trimmed = rest.trim();
    return trimmed === "" ? cells : [...cells, ...trimmed.split(/[ \t]+/).map(unquoted)];
  }
  const mark = String.fromCharCode(separator);
  let from = 0;
  while (from <= rest.length) {
    let to = rest.indexOf(mark, from);
    const quote = /^[ \t]*"/.exec(rest.slice(from, from + 200));
    if (quote !== null) {
      const close = closingQuote(rest, from + quote[0].length);
      to = close < 0 ? -1 : rest.indexOf(mark, close);
    }
    if (to < 0) to = rest.length;
    cells.push(unquoted(rest.slice(from, to)));
    from = to + 1;
  }
  return cells;
}

function unquoted(cell: string): string {
  const text = cell.trim();
  return text.length > 1 && text.startsWith('"') && text.endsWith('"')
    ? text.slice(1, -1).replaceAll('""', '"').trim()
    : text;
}
