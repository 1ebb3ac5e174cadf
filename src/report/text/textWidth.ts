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
