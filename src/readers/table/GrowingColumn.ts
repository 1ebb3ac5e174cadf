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
