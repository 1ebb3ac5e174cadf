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
