/**
 * A text as a field of a table that people open in a spreadsheet: what such a program would take for a formula (it starts
 * with = + - @, a tab or a line break) gets an apostrophe before it. A person's words stand in ids, labels and reasons, and a
 * table must not do what they say. Numbers are not texts and pass as they are.
 *
 * @param value  null is empty
 * @example csvField("=1+1") // => "'=1+1"
 */
export function csvField(value: string | number | boolean | null): string {
  if (value === null) return "";
  if (typeof value !== "string") return String(value);
  return /^[=+\-@\t\r\n]/.test(value) && !/^[+-]?(\d|\.\d)[\d.eE+-]*$/.test(value) ? `'${value}` : value;
}

/**
 * Where a quoted text is closed; a doubled quote is a quote within it.
 *
 * @param from   the place behind the opening quote
 * @param quote  the closing one
 * @returns -1 where it is not closed
 * @example closingQuote('"say ""x""", 1', 1) // => 10
 */
export function closingQuote(text: string, from: number, quote = '"'): number {
  let at = text.indexOf(quote, from);
  while (at >= 0 && text[at + 1] === quote) at = text.indexOf(quote, at + 2);
  return at;
}
