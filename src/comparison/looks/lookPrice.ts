import type { SpendingKind } from "../../contract/looksPlan.ts";
import { spentUpTo, thresholdAt } from "./spending.ts";

/** Levels between which a sequential p is interpolated: 0.000001 to 1, twelve a decade. */
const ladder = Array.from({ length: 73 }, (_, k) => 10 ** (-6 + k / 12));

/**
 * What p values are worth at one look among others, for error rates shared out over all of them.
 *
 * The sequential p of a cell is the smallest rate for all looks together at which this look would claim; Holm's step-down on
 * sequential p values is the group-sequential Holm procedure: a cell is claimed where its p is below the threshold of the level
 * that Holm leaves to it. For that, the levels that Holm can leave are exact; between others the p is interpolated on
 * logarithms, within a thousandth.
 *
 * @source W. Maurer, F. Bretz, Stat. Biopharm. Res. 5 (2013) 311-320 (the procedure); Q. Liu, K. M. Anderson, J. Am. Stat.
 *         Assoc. 103 (2008) 1621-1630 (sequential p values)
 */
export class LookPrice {
  readonly #spending: SpendingKind;
  readonly #fractions: readonly number[];
  readonly #levels: readonly number[];
  readonly #thresholds = new Map<number, number>();

  /**
   * @param spending   how the error is shared out
   * @param fractions  of the information declared, rising, the last that of this look
   * @param exact      levels whose thresholds decide, 0 to 1
   */
  constructor(spending: SpendingKind, fractions: readonly number[], exact: readonly number[]) {
    this.#spending = spending;
    this.#fractions = fractions;
    this.#levels = [...new Set([...ladder, ...exact])].sort((a, b) => a - b);
  }

  get fractions(): readonly number[] {
    return this.#fractions;
  }

  /** The two-sided p below which this look claims, at a level for all looks together. */
  threshold(level: number): number {
    const known = this.#thresholds.get(level);
    if (known !== undefined) return known;
    const found = thresholdAt(this.#spending, level, this.#fractions);
    this.#thresholds.set(level, found);
    return found;
  }

  /**
   * What the intervals of this look may miss, at a level for all looks together: as much as it may claim; after the look that
   * spent all, as much as that one, since an interval has to be shown.
   */
  outside(level: number): number {
    const last = this.#fractions.findIndex((fraction) => fraction >= 1);
    return last < 0 || last === this.#fractions.length - 1
      ? this.threshold(level)
      : thresholdAt(this.#spending, level, this.#fractions.slice(0, last + 1));
  }

  /**
   * Of a level, what this look spends and what is spent with it.
   *
   * @param furthest  the largest fraction that was looked at before
   */
  spent(level: number, furthest: number): { cost: number; spent: number } {
    const before = spentUpTo(this.#spending, level, furthest);
    const spent = Math.max(before, spentUpTo(this.#spending, level, this.#fractions.at(-1)!));
    return { cost: spent - before, spent };
  }

  /** The sequential p of a two-sided p; 1 where no level would do. */
  sequential(p: number): number {
    const levels = this.#levels;
    if (p >= this.threshold(levels.at(-1)!)) return 1;
    let [from, to] = [-1, levels.length - 1];
    while (to - from > 1) {
      const middle = (from + to) >> 1;
      if (p < this.threshold(levels[middle]!)) to = middle;
      else from = middle;
    }
    const [high, reached] = [this.threshold(levels[to]!), levels[to]!];
    if (from < 0) return reached * (p / high);
    const [low, start] = [this.threshold(levels[from]!), levels[from]!];
    // thresholds of O'Brien and Fleming's type may be smaller than any number
    const share = low > 0 ? Math.log(p / low) / Math.log(high / low) : (p - low) / (high - low);
    // below the level whose threshold it is below, also where a logarithm rounds
    return Math.min(start * (reached / start) ** share, reached * (1 - 1e-12));
  }
}
