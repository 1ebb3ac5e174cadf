const unitWord =
  /^(h|hrs?|hours?|minutes?|s|sec|seconds?|ms|msec|milliseconds?|us|[µμ]s|usec|microseconds?|ns|nsec|nanoseconds?|min|m|mm|cm|um|[µμ]m|dm|km|in|inch(es)?|ft|foot|feet|met(er|re)s?|centimet(er|re)s?|millimet(er|re)s?|deg|degrees?|°|m?rad|[uµμ]rad|radians?|m\/s(\^?2|²)?|mm\/s|m?rad\/s(\^?2|²)?|deg\/s|°\/s|dps|radps|v|mv|a|ma|n|kn|nm|n·m|n[ .*-]?[mc]?m|lbf?|kgf|lbf?[ .*-]?(in|inch|ft)|(in|ft)[ .*-]?lbf?|counts?|cts|mah|hz|rpm|pwm|g|kg|%|-|1|none|unitless|frames?)$/i;
const inBrackets = /\s*[[(]([^\])]*)[\])]\s*$/;
/** brackets that say which of several columns it is: an element as "q[0]", a repeated name as "x (2)", an axis as "Position (X)" */
const telling = /(\S\[\d+\]|\s\(([2-9]|\d\d+)\)|[[(][xyzw][\])])\s*$/i;
const suffix = /_(mm|cm|ms|us|ns|sec|deg|rad|radps|dps)$/i;

/**
 * Names and units of columns from the lines of a heading. The words of a column are joined from top to bottom; an upper
 * cell that is blank belongs to the one on its left, as spanning headings are written. A line of
 * units is no part of the names.
 *
 * @param heading   its cells, line by line; may be shorter than the table is wide
 * @param columns   how many the table has
 * @param brackets  the first of them, which stand in brackets and are named "[1]", "[2]" ...
 * @returns every name once; a repeated one is followed by " (2)", " (3)" ...
 */
export function columnNames(
  heading: readonly (readonly string[])[],
  columns: number,
  brackets: number,
): { names: string[]; units: (string | null)[] } {
  const isUnits = (row: readonly string[]): boolean => {
    const filled = row.filter((cell) => cell !== "");
    // a heading knows more units than we do; what it writes for the rest is shown, and taken for none we know
    return filled.length > 1 && filled.filter((cell) => unitWord.test(bare(cell))).length >= (2 / 3) * filled.length;
  };
  // the only line of a heading names the columns, whatever it looks like
  const unitRow = heading.length < 2 ? undefined : heading.findLast(isUnits);
  const worded = heading.filter((row) => row !== unitRow);
  const lines = worded.map((row, k) => (k === worded.length - 1 ? row : spread(row, columns)));
  const taken = new Map<string, number>();
  const names: string[] = [];
  const units: (string | null)[] = [];
  for (let column = 0; column < columns; column++) {
    const words = lines.map((row) => row[column] ?? "").filter((word, k, all) => word !== "" && word !== all[k - 1]);
    const joined = column < brackets ? `[${column + 1}]` : words.join(" ");
    const name = joined === "" ? `#${column + 1}` : joined;
    const count = (taken.get(name) ?? 0) + 1;
    taken.set(name, count);
    names.push(count === 1 ? name : `${name} (${count})`);
    units.push(column < brackets ? null : unitOf(name, unitRow?.[column] ?? ""));
  }
  return { names, units };
}

function unitOf(name: string, cell: string): string | null {
  if (cell !== "") return bare(cell);
  const written = (telling.test(name) ? null : inBrackets.exec(name)?.[1]?.trim()) ?? suffix.exec(name)?.[1] ?? null;
  return written !== null && unitWord.test(written) ? written : null;
}

/** The name of a column without the unit that is written behind it. */
export function withoutUnit(name: string): string {
  return telling.test(name) ? name.trim() : name.replace(inBrackets, "").trim();
}

function bare(cell: string): string {
  return cell.replace(/^[[(]\s*|\s*[\])]$/g, "");
}

function spread(row: readonly string[], columns: number): string[] {
  let last = "";
  return Array.from({ length: columns }, (_, column) => {
    const cell = row[column] ?? "";
    if (cell !== "") last = cell;
    return last;
  });
}
