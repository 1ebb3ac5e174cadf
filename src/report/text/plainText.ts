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
