import { closingQuote } from "../../../foundation/csvField.ts";

/** A piece of a statement: a bare word, a quoted name, a text or blob literal, a number, or a sign of one character. */
interface Token {
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
function sqlTokens(sql: string): Token[] {
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

/** A column that is stored in a table's records. */
export interface Column {
  /** its place in a record */
  readonly place: number;
  /** what becomes of the values put into it */
  readonly affinity: "text" | "number" | "blob";
  /** its value in records that were written before it was added: text, a whole number, or null */
  readonly absent: string | number | null;
}

export interface TableDefinition {
  /** by their names in lower case: names do not tell one from the other by case */
  readonly columns: ReadonlyMap<string, Column>;
  /** the column that stands for the row's number and is stored as null */
  readonly rowNumber: string | null;
  /** laid out as an index, by its key */
  readonly withoutRowid: boolean;
}

/**
 * What the statement that made a table says of its records.
 *
 * @source SQLite, "CREATE TABLE" (lang_createtable.html: syntax, ROWIDs and the INTEGER PRIMARY KEY), "Datatypes" (datatype3.html,
 *   section 3.1: affinity), "Generated Columns" (gencol.html: only those that are STORED are)
 */
export function tableDefinition(sql: string): TableDefinition {
  const { parts, options } = partsOf(sqlTokens(sql));
  const columns = new Map<string, Column>();
  const types = new Map<string, string>();
  let rowNumber: string | null = null;
  for (const part of parts) {
    if (isWord(part[0], "constraint", "primary", "unique", "check", "foreign")) {
      const key = keyOfConstraint(part);
      if (key !== null && types.get(key) === "integer") rowNumber = key;
      continue;
    }
    const name = part[0]?.text.toLowerCase();
    if (name === undefined) continue;
    const top = topLevel(part);
    const type = typeOf(part);
    types.set(name, type);
    // the reverse order alone makes a column of its own
    const key = findWords(top, "primary", "key");
    if (key >= 0 && type === "integer" && !isWord(top[key + 2], "desc")) rowNumber = name;
    const as = top.findIndex((token) => isWord(token, "as"));
    if (as >= 0 && !top.slice(as).some((token) => isWord(token, "stored"))) continue;
    const affinity = affinityOf(type);
    columns.set(name, { place: columns.size, affinity, absent: defaultOf(part, affinity) });
  }
  const withoutRowid = findWords(options, "without", "rowid") >= 0;
  return { columns, rowNumber: withoutRowid ? null : rowNumber, withoutRowid };
}

/** What stands between the commas of the outermost brackets, and what comes behind them. */
function partsOf(tokens: readonly Token[]): { parts: Token[][]; options: readonly Token[] } {
  const parts: Token[][] = [];
  let part: Token[] = [];
  let depth = 0;
  for (const [k, token] of tokens.entries()) {
    const sign = token.kind === "sign" ? token.text : "";
    if (sign === "(" && depth++ === 0) continue;
    if (sign === ")" && --depth === 0) return { parts: [...parts, part], options: tokens.slice(k + 1) };
    if (sign === "," && depth === 1) {
      parts.push(part);
      part = [];
    } else if (depth > 0) part.push(token);
  }
  return { parts: depth > 0 ? [...parts, part] : parts, options: [] };
}

function isWord(token: Token | undefined, ...words: readonly string[]): boolean {
  return token?.kind === "word" && words.includes(token.text.toLowerCase());
}

/** Where two words follow each other; -1 where they do not. */
function findWords(tokens: readonly Token[], first: string, second: string): number {
  return tokens.findIndex((token, k) => isWord(token, first) && isWord(tokens[k + 1], second));
}

/** The tokens that no brackets surround. */
function topLevel(tokens: readonly Token[]): readonly Token[] {
  let depth = 0;
  return tokens.filter(({ kind, text }) => {
    if (kind !== "sign") return depth === 0;
    if (text === ")") depth--;
    const isTop = depth === 0;
    if (text === "(") depth++;
    return isTop;
  });
}

/** The only column of a table's primary key; null where it has another number of them. */
function keyOfConstraint(part: readonly Token[]): string | null {
  const at = findWords(part, "primary", "key");
  if (at < 0) return null;
  const key = part.slice(at + 3);
  const end = key.findIndex(({ kind, text }) => kind === "sign" && (text === "," || text === ")"));
  return end > 0 && key[end]!.text === ")" ? key[0]!.text.toLowerCase() : null;
}

/** A column's declared type in lower case, with the brackets behind it. */
function typeOf(part: readonly Token[]): string {
  const ends = ["constraint", "primary", "not", "null", "unique", "check", "default", "collate", "references", "as"];
  const end = part.findIndex((token, k) => k > 0 && isWord(token, ...ends));
  return part
    .slice(1, end < 0 ? part.length : end)
    .map(({ text }) => text.toLowerCase())
    .join(" ");
}

function affinityOf(type: string): Column["affinity"] {
  if (type.includes("int")) return "number";
  if (/char|clob|text/.test(type)) return "text";
  return type === "" || type.includes("blob") ? "blob" : "number";
}

/** The constant of a column's DEFAULT, as its affinity makes it. */
function defaultOf(part: readonly Token[], affinity: Column["affinity"]): string | number | null {
  const at = part.findIndex((token) => isWord(token, "default"));
  if (at < 0) return null;
  const isSign = (token: Token | undefined, signs: string): boolean =>
    token?.kind === "sign" && signs.includes(token.text);
  let next = at + 1;
  while (isSign(part[next], "(")) next++;
  let negative = false;
  for (; isSign(part[next], "+-"); next++) if (part[next]!.text === "-") negative = !negative;
  const value = part[next] === undefined ? null : literalOf(part[next]!, negative);
  if (value === null) return null;
  if (affinity === "text") return String(value);
  if (affinity === "number" && typeof value === "string" && /^\s*[+-]?\d+\s*$/.test(value)) return Number(value);
  return value;
}

function literalOf({ kind, text }: Token, negative: boolean): string | number | null {
  if (kind === "text" || kind === "name") return text;
  if (kind === "number") return Number.isInteger(Number(text)) ? Number(text) * (negative ? -1 : 1) : null;
  if (kind !== "word" || /^(null|current_(time|date|timestamp))$/i.test(text)) return null;
  if (/^(true|false)$/i.test(text)) return /^true$/i.test(text) ? 1 : 0;
  // a bare word is a text
  return text;
}
