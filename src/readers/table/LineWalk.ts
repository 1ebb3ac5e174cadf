import type { GrowingColumn } from "./ColumnSink.ts";
import { exactDigits, exactPowers } from "./decimal.ts";
import type { TableLayout } from "./Tabular.ts";

/** Takes the cells of one column, row by row; a row that ended before the column is skipped. */
export interface CellSink {
  /** takes plain numbers without a word to the sink; null where it wants to see every cell */
  readonly numbers: GrowingColumn | null;
  take(row: number, bytes: Uint8Array, from: number, to: number): void;
  skip(row: number): void;
  /** The row turned out to have more cells than the table has columns: what was taken of it may be another column's. */
  discard(row: number): void;
}

const minus = 45;
const quote = 34;
export const blank = 32;
const tab = 9;
export const carriageReturn = 13;
const openBracket = 91;
const closeBracket = 93;

/** Walks the cells of a line. One object for all lines of a block, for this runs over every cell of a log. */
export class LineWalk {
  /** of the row, and of its next cell */
  row = 0;
  column = 0;
  /** a quote was not closed */
  unclosed = false;
  lastIsEmpty = false;
  /** where the walk stands, and where the line ends */
  #at = 0;
  #to = 0;
  readonly #bytes: Buffer;
  readonly #sinks: readonly (CellSink | null)[];
  readonly #direct: readonly (GrowingColumn | null)[];
  /** the last column that is wanted */
  readonly #last: number;
  readonly #brackets: number;
  readonly #blanks: boolean;
  readonly #separator: number;
  readonly #point: number;

  constructor(bytes: Buffer, { brackets, separator, point }: TableLayout, sinks: readonly (CellSink | null)[]) {
    this.#bytes = bytes;
    this.#sinks = sinks;
    this.#direct = sinks.map((sink) => sink?.numbers ?? null);
    this.#last = sinks.findLastIndex((sink) => sink !== null);
    this.#brackets = brackets;
    this.#blanks = separator === "blanks";
    this.#separator = separator === "blanks" ? blank : separator;
    this.#point = point;
  }

  /** Hands the cells of the line from `at` to `to` on; what it was like stands in the walk until the next. */
  line(row: number, at: number, to: number): this {
    this.row = row;
    this.#at = at;
    this.#to = to;
    this.column = 0;
    this.unclosed = false;
    this.lastIsEmpty = false;
    // without its brackets a line is of another kind: its cells would fall into the wrong columns
    if (this.#bracketed()) while (this.#number() ?? this.#cell());
    return this;
  }

  /** Takes the cells in brackets that a line begins with. @returns false where one is missing */
  #bracketed(): boolean {
    const bytes = this.#bytes;
    const to = this.#to;
    for (; this.column < this.#brackets; this.column++) {
      let open = this.#at;
      while (open < to && bytes[open] === blank) open++;
      if (bytes[open] !== openBracket) return false;
      let close = open + 1;
      while (close < to && bytes[close] !== closeBracket) close++;
      if (close >= to) return false;
      if (this.column <= this.#last) this.#sinks[this.column]?.take(this.row, bytes, open + 1, close);
      this.#at = close + 1;
    }
    return true;
  }

  /**
   * Takes a cell that is a plain number, as most are: read as its end is looked for, by the rule of `readDecimal` for short ones.
   *
   * @returns whether the line goes on; null where the cell is none, and was not taken
   */
  #number(): boolean | null {
    const bytes = this.#bytes;
    const to = this.#to;
    const point = this.#point;
    const numbers = this.column <= this.#last ? this.#direct[this.column]! : null;
    this.#at = this.#afterBlanks(this.#at);
    if (numbers === null) return null;
    let end = this.#at;
    const negative = bytes[end] === minus;
    if (negative) end++;
    let digits = 0;
    let decimals = -1;
    let value = 0;
    for (; end < to; end++) {
      const byte = bytes[end]!;
      if (byte >= 48 && byte <= 57) {
        value = value * 10 + (byte - 48);
        digits++;
      } else if (byte === point && decimals < 0) decimals = digits;
      else break;
    }
    if (digits === 0 || digits > exactDigits || (end < to && bytes[end] !== this.#separator)) return null;
    if (decimals >= 0) value /= exactPowers[digits - decimals]!;
    numbers.set(this.row, negative ? -value : value);
    this.lastIsEmpty = false;
    return this.#passed(end);
  }

  /** Takes any other cell. @returns whether the line goes on */
  #cell(): boolean {
    const bytes = this.#bytes;
    const isQuoted = this.#at < this.#to && bytes[this.#at] === quote;
    const from = isQuoted ? this.#at + 1 : this.#at;
    let to = isQuoted ? this.#closingQuote(from) : this.#endOfCell(from);
    const end = isQuoted ? this.#nextSeparator(to) : to;
    this.lastIsEmpty = to === from;
    const sink = this.column <= this.#last ? this.#sinks[this.column]! : null;
    if (sink !== null) {
      while (to > from && (bytes[to - 1] === blank || bytes[to - 1] === tab)) to--;
      sink.take(this.row, bytes, from, to);
    }
    return this.#passed(end);
  }

  /** Steps over the separator at `end`. @returns whether there was one */
  #passed(end: number): boolean {
    this.#at = end + 1;
    this.column++;
    return end < this.#to;
  }

  #afterBlanks(from: number): number {
    const bytes = this.#bytes;
    const to = this.#to;
    const separator = this.#separator;
    let at = from;
    while (at < to && (bytes[at] === blank || (bytes[at] === tab && separator !== tab))) at++;
    return at;
  }

  /** Of the quote that closes a cell; the line's end where none does. A doubled quote is a quote within the text. */
  #closingQuote(from: number): number {
    const bytes = this.#bytes;
    const to = this.#to;
    for (let at = from; at < to; at++) {
      if (bytes[at] !== quote) continue;
      // what stands behind the line is another's, or left from the block before
      if (at + 1 >= to || bytes[at + 1] !== quote) return at;
      at++;
    }
    this.unclosed = true;
    return to;
  }

  #endOfCell(from: number): number {
    const bytes = this.#bytes;
    const to = this.#to;
    const separator = this.#separator;
    const blanks = this.#blanks;
    let at = from;
    while (at < to && bytes[at] !== separator && !(blanks && bytes[at] === tab)) at++;
    return at;
  }

  #nextSeparator(from: number): number {
    const bytes = this.#bytes;
    const to = this.#to;
    const separator = this.#separator;
    let at = from;
    while (at < to && bytes[at] !== separator) at++;
    return at;
  }
}
