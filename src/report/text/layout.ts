/** Emphasis for a terminal. It never carries a meaning that the words do not. */
interface TextStyle {
  readonly heading: (text: string) => string;
  readonly faint: (text: string) => string;
  readonly doubt: (text: string) => string;
  readonly unusable: (text: string) => string;
}

const marked =
  (start: number, end: number) =>
  (text: string): string =>
    `\u001b[${start}m${text}\u001b[${end}m`;
const plain = (text: string): string => text;

/** Plain text, or text with ANSI emphasis for a terminal in colour. */
export function textStyle(colour: boolean): TextStyle {
  if (!colour) return { heading: plain, faint: plain, doubt: plain, unusable: plain };
  return { heading: marked(1, 22), faint: marked(2, 22), doubt: marked(33, 39), unusable: marked(35, 39) };
}

/** Scripts whose letters take two columns of a terminal (Unicode Annex 11, classes W and F, without the rarities). */
const wide =
  /[\u1100-\u115f\u2e80-\u303e\u3041-\ua4cf\uac00-\ud7a3\uf900-\ufaff\ufe30-\ufe6f\uff00-\uff60\uffe0-\uffe6]/u;
const ascii = /^[\x20-\x7e]*$/;

/**
 * Columns a text takes on a terminal: combining marks none, wide letters and pictures two, others one.
 * The text holds no control characters (`plainText`).
 */
export function textWidth(text: string): number {
  if (ascii.test(text)) return text.length;
  let width = 0;
  for (const character of text) {
    if (/[\p{M}\p{Cf}]/u.test(character)) continue;
    width += wide.test(character) || /\p{Extended_Pictographic}/u.test(character) ? 2 : 1;
  }
  return width;
}

/** The text with blanks behind it, up to `width` columns. */
export function padRight(text: string, width: number): string {
  return text + " ".repeat(Math.max(0, width - textWidth(text)));
}

/** The text with blanks before it, up to `width` columns. */
export function padLeft(text: string, width: number): string {
  return " ".repeat(Math.max(0, width - textWidth(text))) + text;
}

/**
 * A text broken into lines of at most `width` columns, at blanks; a word longer than a line is broken where the line ends.
 *
 * @param options.first  stands before the first line
 * @param options.rest   stands before the others; default: blanks as wide as `first`
 */
export function wrapText(text: string, width: number, options: { first?: string; rest?: string } = {}): string[] {
  const first = options.first ?? "";
  const rest = options.rest ?? " ".repeat(textWidth(first));
  const lines: string[] = [];
  let line = first;
  let empty = true;
  const next = (): void => {
    lines.push(line);
    line = rest;
    empty = true;
  };
  for (const word of text.split(/\s+/).filter((part) => part !== "")) {
    let left = word;
    if (!empty && textWidth(line) + 1 + textWidth(left) > width) next();
    while (textWidth(line) + (empty ? 0 : 1) + textWidth(left) > width) {
      const [head, tail] = cut(left, Math.max(1, width - textWidth(line)));
      line += head;
      left = tail;
      next();
    }
    if (left === "") continue;
    line += (empty ? "" : " ") + left;
    empty = false;
  }
  if (!empty || lines.length === 0) lines.push(line);
  return lines;
}

/** As many whole characters as fit, at least one. */
function cut(word: string, width: number): [string, string] {
  const characters = [...word];
  let head = characters[0] ?? "";
  let count = 1;
  while (count < characters.length && textWidth(head + characters[count]!) <= width) head += characters[count++]!;
  return [head, characters.slice(count).join("")];
}

/**
 * Text from a log or a manifest as it may be shown on a terminal: control characters and marks that turn the direction
 * of writing are made visible as `\x1b`, line breaks and runs of blanks become one blank.
 *
 * @example plainText("arm\u001b[2J\njammed") // => "arm\\x1b[2J jammed"
 */
export function plainText(text: string): string {
  return text
    .replace(/\s+/g, " ")
    .replace(/[\p{Cc}\p{Zl}\p{Zp}\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]/gu, (character) => {
      const code = character.codePointAt(0)!.toString(16);
      return code.length <= 2 ? `\\x${code.padStart(2, "0")}` : `\\u${code.padStart(4, "0")}`;
    })
    .trim();
}

/**
 * Pieces set in lines so that none is broken that fits a line: numbers stay with their units, intervals whole.
 *
 * @param between  stands between two pieces of a line; its blanks at the end are dropped where a line ends
 * @param options.first  stands before the first line
 * @param options.rest   stands before the others
 */
export function packPieces(
  pieces: readonly string[],
  width: number,
  options: { between?: string; first?: string; rest?: string } = {},
): string[] {
  const { between = " ", first = "", rest = "" } = options;
  const lines: string[] = [];
  let line = "";
  pieces.forEach((piece, index) => {
    const ended = index < pieces.length - 1 ? piece + between.trimEnd() : piece;
    const joined = line === "" ? ended : `${line}${between.slice(between.trimEnd().length)}${ended}`;
    if (line !== "" && textWidth(joined) <= width) {
      line = joined;
      return;
    }
    if (line !== "") lines.push(line);
    const broken = wrapText(ended, width, { first: lines.length === 0 ? first : rest, rest });
    lines.push(...broken.slice(0, -1));
    line = broken.at(-1)!;
  });
  return line === "" ? lines : [...lines, line];
}

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

/** How the text is to be set. */
export interface TextFrame {
  /** columns */
  readonly width: number;
  readonly style: TextStyle;
}

const narrowest = 60;

/** @param options.width  columns; default 80, at least 60 */
export function textFrame(options: { readonly width?: number; readonly colour: boolean }): TextFrame {
  return { width: Math.max(narrowest, options.width ?? 80), style: textStyle(options.colour) };
}
