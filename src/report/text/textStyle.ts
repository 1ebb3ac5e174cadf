/** Emphasis for a terminal. It never carries a meaning that the words do not. */
export interface TextStyle {
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
