import { plainText, textWidth } from "./layout.ts";

/** longer names are cut: a sentence must stay one that a person can repeat */
const longest = 48;

/**
 * A label of a person's choice as it stands within a sentence: harmless, cut where it is very long, and in quotation marks,
 * so that no label can be taken for part of the sentence.
 */
export function quotedName(text: string): string {
  return `"${shortName(text).replaceAll('"', "'")}"`;
}

/** A key as it stands within a sentence: as it is where it is one plain word, else quoted. */
export function wordOrQuoted(text: string): string {
  return /^[\p{L}\p{N}_-]+$/u.test(text) && textWidth(text) <= longest ? text : quotedName(text);
}

/** A name that does not steer the terminal, at most 48 columns wide. */
export function shortName(text: string): string {
  return cutName(text, longest);
}

/** A name that does not steer the terminal, at most so many columns wide. */
export function cutName(text: string, most: number): string {
  const plain = plainText(text);
  if (textWidth(plain) <= most) return plain;
  let cut = "";
  for (const character of plain) {
    if (textWidth(cut + character) > most - 1) break;
    cut += character;
  }
  return `${cut.trimEnd()}…`;
}
