import { splitLine } from "./splitLine.ts";
import type { TableLayout } from "./TableLayout.ts";

/**
 * Whether a last line that no line end closes was cut while it was written: it has fewer cells than there are columns, or its
 * last number has fewer digits behind the decimal mark than any other of its column. Many writers leave out the last line
 * end; of a number cut within its digits nothing else tells.
 *
 * @param sample  cells of other lines; its last may be the line itself
 */
export function isCut(line: string, layout: TableLayout, sample: readonly (readonly string[])[]): boolean {
  if (line.trim() === "") return false;
  const cells = splitLine(line, layout);
  const columns = layout.names.length;
  if (cells.length < columns) return true;
  const digits = (cell: string | undefined): number => {
    const mark = (cell ?? "").indexOf(String.fromCharCode(layout.point));
    return mark < 0 ? 0 : cell!.length - mark - 1;
  };
  const others = sample.slice(0, -1).filter((row) => row.length === cells.length);
  return others.length > 0 && others.every((row) => digits(row.at(-1)) > digits(cells.at(-1)));
}
