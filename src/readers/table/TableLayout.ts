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
