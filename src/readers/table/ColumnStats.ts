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
