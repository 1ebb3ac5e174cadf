import { isText, readDecimal } from "./decimal.ts";
import { type Instant, readDate, readInstant } from "./instantCell.ts";

/** A column of doubles that grows as rows come. */
export class GrowingColumn {
  #values: Float64Array;

  constructor(capacity: number) {
    this.#values = new Float64Array(Math.max(64, capacity));
  }

  set(row: number, value: number): void {
    if (row >= this.#values.length) {
      const grown = new Float64Array(Math.ceil(this.#values.length * 1.5));
      grown.set(this.#values);
      this.#values = grown;
    }
    this.#values[row] = value;
  }

  /** The first `rows` values. A rest that is small beside them was never touched: a copy would cost more than it. */
  finish(rows: number): Float64Array {
    return 4 * rows >= 3 * this.#values.length ? this.#values.subarray(0, rows) : this.#values.slice(0, rows);
  }
}

/** What a wanted column is to be read as. */
export type ColumnKind =
  | { readonly kind: "number" }
  /** a time in units of 10^-power seconds */
  | { readonly kind: "instant"; readonly power: number }
  /** a date with time, as text */
  | { readonly kind: "date" };

/** A column as read: its numbers, or whole seconds with the nanoseconds within them. NaN where a cell holds none. */
export interface ReadColumn {
  readonly values: Float64Array;
  /** null for numbers */
  readonly nsec: Float64Array | null;
  /** 1 where a cell is blank; null where none is */
  readonly blank: Uint8Array | null;
  /** cells that hold text where a number was looked for */
  readonly texts: number;
}

/** Takes the cells of one column, row by row. */
export class ColumnSink {
  readonly numbers: GrowingColumn | null;
  readonly #kind: ColumnKind;
  readonly #point: number;
  readonly #values: GrowingColumn;
  readonly #nsec: GrowingColumn | null;
  readonly #instant: Instant = { sec: Number.NaN, nsec: Number.NaN };
  #blank: Uint8Array | null = null;
  #texts = 0;

  constructor(kind: ColumnKind, options: { capacity: number; point: number }) {
    this.#kind = kind;
    this.#point = options.point;
    this.#values = new GrowingColumn(options.capacity);
    this.#nsec = kind.kind === "number" ? null : new GrowingColumn(options.capacity);
    this.numbers = kind.kind === "number" ? this.#values : null;
  }

  take(row: number, bytes: Uint8Array, from: number, to: number): void {
    const kind = this.#kind;
    if (kind.kind === "number") {
      const value = readDecimal(bytes, from, to, this.#point);
      this.#values.set(row, value);
      if (Number.isNaN(value)) this.#note(row, bytes, from, to);
      return;
    }
    const instant = this.#instant;
    if (kind.kind === "instant") readInstant(bytes, from, to, { point: this.#point, power: kind.power }, instant);
    else
      readDate(Buffer.from(bytes.buffer, bytes.byteOffset + from, Math.min(to - from, 64)).toString("latin1"), instant);
    this.#values.set(row, instant.sec);
    this.#nsec!.set(row, instant.nsec);
    if (Number.isNaN(instant.sec)) this.#note(row, bytes, from, to);
  }

  /** A row that ended before this column. */
  skip(row: number): void {
    this.#values.set(row, Number.NaN);
    this.#nsec?.set(row, Number.NaN);
    this.#setBlank(row);
  }

  discard(row: number): void {
    this.skip(row);
  }

  #note(row: number, bytes: Uint8Array, from: number, to: number): void {
    if (from === to) this.#setBlank(row);
    else if (isText(bytes, from, to)) this.#texts++;
  }

  #setBlank(row: number): void {
    if (this.#blank === null || row >= this.#blank.length) {
      const grown = new Uint8Array(Math.max(1024, 2 * row));
      if (this.#blank !== null) grown.set(this.#blank);
      this.#blank = grown;
    }
    this.#blank[row] = 1;
  }

  finish(rows: number): ReadColumn {
    let blank = this.#blank;
    if (blank !== null && blank.length < rows) {
      blank = new Uint8Array(rows);
      blank.set(this.#blank!);
    }
    return { values: this.#values.finish(rows), nsec: this.#nsec?.finish(rows) ?? null, blank, texts: this.#texts };
  }
}
