import { closingQuote } from "../../foundation/closingQuote.ts";
import type { TableLayout } from "./TableLayout.ts";

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
