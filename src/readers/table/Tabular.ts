import type { TableSurvey } from "../../foundation/recording.ts";
import type { ColumnKind, ReadColumn } from "./ColumnSink.ts";

/** A table of some format, opened: what it says of its columns, and how to read some of them. */
export interface Tabular {
  readonly path: string;
  readonly bytes: number;
  /** the format's name, for a person */
  readonly format: string;
  readonly compression: readonly string[];
  readonly names: readonly string[];
  readonly units: readonly (string | null)[];
  /** a unit of length for all columns that have none of their own */
  readonly lengthUnit: string | null;
  /** some cells of a column as text, for its kind of time */
  sample(column: number): readonly string[];
  /** the columns wanted, in one pass; a time is read by the kind that goes with it */
  read(wanted: ReadonlyMap<number, ColumnKind>): Promise<TabularRows>;
  /** figures of all columns, in one pass */
  stats(): Promise<{ rows: number; columns: readonly ColumnStats[]; notes: readonly string[] }>;
  /** how it is written, for a person */
  readonly shape: Pick<TableSurvey, "separator" | "decimal" | "preamble" | "headingLines">;
  close(): void;
}

export interface TabularRows {
  readonly rows: number;
  /** those of them that were left out whole, which `notes` tells */
  readonly discarded: number;
  readonly columns: ReadonlyMap<number, ReadColumn>;
  /** what was lost on the way, in words */
  readonly notes: readonly string[];
}

/** How the lines of a text are made up as a table. */
export interface TableLayout {
  /** the byte between cells; `blanks`: any run of blanks and tabs */
  readonly separator: number | "blanks";
  /** the byte of the decimal mark: "." or "," */
  readonly point: number;
  /** the byte that ends a line: line feed, or carriage return where there is no line feed */
  readonly lineEnd: number;
  /** groups in square brackets before the first cell, which are columns of their own */
  readonly brackets: number;
  /** bytes of a byte order mark, lines before the heading, and lines of the heading */
  readonly mark: number;
  readonly preamble: number;
  readonly headingLines: number;
  /** every name once: joined from the lines of the heading; "#1", "#2" ... where there is none, or none is believed */
  readonly names: readonly string[];
  /** the heading has one name less than there are columns, and nothing tells which column has none */
  readonly nameless: boolean;
  /** as the heading writes them; null where it does not */
  readonly units: readonly (string | null)[];
  /** a unit of length that the lines before the heading speak of */
  readonly lengthUnit: string | null;
}

/** What a column holds, in figures. */
export interface ColumnStats {
  readonly numbers: number;
  readonly blank: number;
  readonly texts: number;
  /** null where it holds no number */
  readonly lowest: number | null;
  readonly highest: number | null;
  /** mean of the absolute values; tells the real part of a quaternion, which is near 1 in a hover */
  readonly meanAbsolute: number | null;
  /** rows on which it falls; a time never does */
  readonly falls: number;
}

/** Gathers the figures of a column as its values come. */
export class ColumnFigures {
  #numbers = 0;
  #lowest = Number.POSITIVE_INFINITY;
  #highest = Number.NEGATIVE_INFINITY;
  #sum = 0;
  #falls = 0;
  #before = Number.NaN;
  blank = 0;
  texts = 0;

  add(value: number): void {
    this.#numbers++;
    if (value < this.#lowest) this.#lowest = value;
    if (value > this.#highest) this.#highest = value;
    if (value < this.#before) this.#falls++;
    this.#sum += Math.abs(value);
    this.#before = value;
  }

  finish(): ColumnStats {
    const any = this.#numbers > 0;
    return {
      numbers: this.#numbers,
      blank: this.blank,
      texts: this.texts,
      lowest: any ? this.#lowest : null,
      highest: any ? this.#highest : null,
      meanAbsolute: any ? this.#sum / this.#numbers : null,
      falls: this.#falls,
    };
  }
}
