import { columnNames } from "./columnNames.ts";
import type { TableLayout } from "./Tabular.ts";
import { belowHeading, fittedHeading, headingOf, splitLine } from "./tableHeading.ts";
import { comment, emptyCell, isFilled, isNumber, parted, withComma, withPoint } from "./timeKind.ts";

/** Separators that are tried, likeliest first where two fit equally well. */
const separators: readonly TableLayout["separator"][] = [9, 59, 124, 44, "blanks"];

/** Rows that in a row must look like data before they count as such. */
const rowsInARow = 3;

/**
 * Finds out how a text is made up as a table: line ends, brackets before the cells, separator, decimal mark, and the
 * lines before the first row.
 *
 * @param text  the first lines of the file, whole ones
 * @param mark  bytes of the byte order mark before it
 * @returns null where no two columns of numbers can be made out
 */
export function findLayout(text: string, mark: number): TableLayout | null {
  const lineEnd = text.includes("\n") || !text.includes("\r") ? 10 : 13;
  const lines = text.split(lineEnd === 10 ? /\r?\n/ : "\r");
  if (lines.at(-1) === "") lines.pop();
  const brackets = bracketGroups(lines);
  const ranked = separators
    .map((separator) => ({ separator, ...regularity(lines, { separator, brackets }) }))
    .filter(({ columns, share, numeric }) => columns >= 2 && share >= 0.8 && numeric >= 2)
    .sort((a, b) => b.numbers * b.share - a.numbers * a.share);
  const best = ranked[0];
  if (best === undefined) return null;
  const { separator, columns } = best;
  const cells = lines.map((line) => splitLine(line, { separator, brackets }));
  const filled = lines.flatMap((line, k) => (isFilled(line) ? [k] : []));
  const filledCells = filled.map((k) => cells[k]!);
  const found = firstRow(filledCells, columns);
  if (found < 0) return null;
  const first = filled[earlierRows(filledCells, found)]!;
  const below = belowHeading(lines, cells, first, columns);
  const heading = headingOf(lines, cells, below, columns);
  const comma = hasDecimalComma(cells.slice(first).flat());
  const head = lines
    .slice(heading, below)
    .map((line) => splitLine(withoutComment(line), { separator, brackets: line.startsWith("[") ? brackets : 0 }))
    .map((row, k) => (comment.test(lines[heading + k]!) && row.length > columns && row[0] === "" ? row.slice(1) : row))
    .map((row) => [...Array<string>(lines[heading]!.startsWith("[") ? 0 : brackets).fill(""), ...row]);
  const fitted = brackets > 0 ? head : fittedHeading(head, cells.slice(first), columns);
  return {
    separator,
    point: comma ? 44 : 46,
    lineEnd,
    brackets,
    mark,
    preamble: heading,
    headingLines: first - heading,
    nameless: fitted === null,
    ...columnNames(fitted ?? [], columns, brackets),
    lengthUnit: lengthUnitOf(lines.slice(0, heading)),
  };
}

/**
 * Whether a comma is the decimal mark: more cells have one than have a point, and some cannot be parted thousands. Between
 * commas such a cell stands in quotes.
 */
function hasDecimalComma(cells: readonly string[]): boolean {
  const commas = cells.filter((cell) => withComma.test(cell));
  const points = cells.filter((cell) => /^[+-]?\d*\.\d+([eE][+-]?\d+)?$/.test(cell));
  return commas.length > points.length && commas.some((cell) => !parted.test(cell));
}

/** Bracketed groups that most lines start with. */
function bracketGroups(lines: readonly string[]): number {
  const later = lines.slice(lines.length >> 1).filter(isFilled);
  const counts = later.map((line) => {
    let rest = line;
    let count = 0;
    for (let group = /^\s*\[[^\]]*\]/.exec(rest); group !== null; group = /^\s*\[[^\]]*\]/.exec(rest)) {
      rest = rest.slice(group[0].length);
      count++;
    }
    return count;
  });
  return [...counts].sort((a, b) => a - b)[counts.length >> 1] ?? 0;
}

/**
 * The commonest number of cells in the later half, the share of lines that have it, of numbers among their cells, and how many
 * columns hold little else.
 */
function regularity(
  lines: readonly string[],
  cut: Pick<TableLayout, "separator" | "brackets">,
): { columns: number; share: number; numbers: number; numeric: number } {
  const later = lines.slice(lines.length >> 1).filter(isFilled);
  const split = later.map((line) => splitLine(line, cut));
  const counts = new Map<number, number>();
  for (const { length } of split) counts.set(length, (counts.get(length) ?? 0) + 1);
  const [columns, having] = [...counts].reduce((best, entry) => (entry[1] > best[1] ? entry : best), [0, 0]);
  const like = split.filter(({ length }) => length === columns);
  const filled = like.flatMap((row) => row.slice(cut.brackets)).filter((cell) => !emptyCell.test(cell));
  const numeric = Array.from({ length: columns }, (_, column) => {
    const cells = like.map((row) => row[column]!).filter((cell) => !emptyCell.test(cell));
    return cells.length > 0 && cells.filter(isNumber).length >= 0.8 * cells.length;
  });
  const numbers = filled.filter(isNumber).length;
  return {
    columns,
    share: later.length === 0 ? 0 : having / later.length,
    numbers: filled.length === 0 ? 0 : numbers / filled.length,
    numeric: numeric.filter(Boolean).length,
  };
}

/** The first of `rowsInARow` lines that look like data; fewer are enough at the end of the text. */
function firstRow(cells: readonly (readonly string[])[], columns: number): number {
  const isRow = (row: readonly string[]): boolean => {
    if (Math.abs(row.length - columns) > 1) return false;
    const filled = row.filter((cell) => !emptyCell.test(cell));
    const numbers = filled.filter(isNumber).length;
    return numbers >= Math.min(2, filled.length) && numbers > 0 && numbers >= 0.25 * filled.length;
  };
  for (let k = 0; k < cells.length; k++) {
    const next = cells.slice(k, k + rowsInARow);
    if (next.every(isRow)) return k;
  }
  return -1;
}

/**
 * The earliest row above the first that looks like one: words may fill its other cells, but it has as many, and its first
 * number, which is a time or a count, goes on to the next row's. A heading has no such number. What lies between is odd, and
 * counted as such when the rows are walked.
 */
function earlierRows(cells: readonly (readonly string[])[], first: number): number {
  const start = (row: readonly string[]): number =>
    row[0] !== undefined && withPoint.test(row[0]) ? Number(row[0]) : Number.NaN;
  let at = first;
  for (let k = first - 1; k >= 0; k--)
    if (cells[k]!.length === cells[first]!.length && start(cells[k]!) < start(cells[at]!)) at = k;
  return at;
}

/** A heading may be marked as a comment. */
function withoutComment(line: string): string {
  return line.replace(comment, "");
}

/** "Length units, millimetres" and the like before the heading. */
function lengthUnitOf(lines: readonly string[]): string | null {
  for (const line of lines) {
    const found =
      /(?:^[\s"#%/]*|[,;\t]\s*"?)(?:(?:length|position|distance|translation)\s*)?units?\b["\s]*[,;:=\t ]\s*"?(millimet(?:er|re)s?|centimet(?:er|re)s?|met(?:er|re)s?|mm|cm|m)\b(?!\s*[/^*·])/i.exec(
        line,
      );
    if (found !== null) return found[1]!.toLowerCase().replace("metre", "meter");
  }
  return null;
}
