import { textWidth } from "./textWidth.ts";

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
