import { closingQuote } from "../../../foundation/csvField.ts";

/** A piece of a statement: a bare word, a quoted name, a text or blob literal, a number, or a sign of one character. */
export interface Token {
  readonly kind: "word" | "name" | "text" | "blob" | "number" | "sign";
  /** without its quotes */
  readonly text: string;
}

const blanks = " \t\n\f\r";
const closing: Readonly<Record<string, string>> = { "'": "'", '"': '"', "`": "`", "[": "]" };
const digit = /[0-9]/;
/** every character beyond ASCII belongs to a word */
const wordStart = /[A-Za-z_\u0080-\uffff]/;
const wordPart = /[\w$\u0080-\uffff]/;
const numberPart = /[\w.]/;

/**
 * The pieces of an SQL statement, without blanks and comments. What is not closed goes on to the end.
 *
 * @source SQLite, "SQL Comment Syntax" (lang_comment.html), "SQLite Keywords" (lang_keywords.html: the four kinds of quotes)
 */
export function sqlTokens(sql: string): Token[] {
  const tokens: Token[] = [];
  for (let at = 0; at < sql.length; ) {
    const behind = behindBlank(sql, at);
    if (behind > at) at = behind;
    else {
      const { end, ...token } = tokenAt(sql, at);
      tokens.push(token);
      at = end;
    }
  }
  return tokens;
}

/** The character after the blank or the comment that begins at `at`; `at` where neither does. */
function behindBlank(sql: string, at: number): number {
  if (blanks.includes(sql[at]!)) return at + 1;
  const mark = sql.startsWith("--", at) ? "\n" : sql.startsWith("/*", at) ? "*/" : null;
  if (mark === null) return at;
  const found = sql.indexOf(mark, mark === "\n" ? at : at + 2);
  return found < 0 ? sql.length : found + mark.length;
}

/** The piece that begins at `at`, and the character after it. */
function tokenAt(sql: string, at: number): Token & { readonly end: number } {
  const sign = sql[at]!;
  if (closing[sign] !== undefined) {
    const end = quoteEnd(sql, at);
    const inner = sql.slice(at + 1, end - 1);
    // within its quotes a quote is doubled; brackets have no such rule
    const text = sign === "[" ? inner : inner.replaceAll(sign + sign, sign);
    return { kind: sign === "'" ? "text" : "name", text, end };
  }
  if ((sign === "x" || sign === "X") && sql[at + 1] === "'") {
    const end = quoteEnd(sql, at + 1);
    return { kind: "blob", text: sql.slice(at + 2, end - 1), end };
  }
  const isNumber = digit.test(sign) || (sign === "." && digit.test(sql[at + 1] ?? ""));
  const kind = isNumber ? "number" : wordStart.test(sign) ? "word" : "sign";
  let end = at + 1;
  const part = isNumber ? numberPart : wordPart;
  if (kind !== "sign") while (end < sql.length && part.test(sql[end]!)) end++;
  return { kind, text: sql.slice(at, end), end };
}

/** The character after the quote that closes the one at `at`; beyond the end where none does. */
function quoteEnd(sql: string, at: number): number {
  const close = closing[sql[at]!]!;
  // brackets are not doubled
  const found = close === "]" ? sql.indexOf(close, at + 1) : closingQuote(sql, at + 1, close);
  return found < 0 ? sql.length + 1 : found + 1;
}
