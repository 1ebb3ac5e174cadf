import { NotFiniteError } from "../foundation/errors.ts";

/**
 * Holm's step-down p values: each p of a family of m raised so that the chance of any false claim among the m stays below
 * the level at which they are read.
 *
 *   sorted, p_(1) <= ... <= p_(m):   adjusted p_(i) = max over j <= i of min(1, (m - j + 1) p_(j))
 *
 * @param p  one per member; null (nothing could be tested) counts as 1
 * @throws NotFiniteError  a p is NaN or infinite
 * @returns in the order given
 * @source S. Holm, Scand. J. Stat. 6 (1979) 65-70
 * @example holm([0.01, 0.04, 0.03]) // => [0.03, 0.06, 0.06]
 */
export function holm(p: readonly (number | null)[]): number[] {
  for (const [i, each] of p.entries())
    if (each !== null && !Number.isFinite(each)) throw new NotFiniteError("holm", i, each);
  const order = p.map((_, i) => i).sort((a, b) => (p[a] ?? 1) - (p[b] ?? 1));
  const adjusted = new Array<number>(p.length);
  let least = 0;
  for (const [rank, i] of order.entries()) {
    least = Math.max(least, Math.min(1, (p.length - rank) * (p[i] ?? 1)));
    adjusted[i] = least;
  }
  return adjusted;
}

/** Holm's p of one member whose p is changed while the others stay: `others` sorted, ascending. */
export function holmAmong(p: number | null, others: Float64Array): number {
  const own = p ?? 1;
  const size = others.length + 1;
  let rank = 0;
  let least = 0;
  for (; rank < others.length && others[rank]! < own; rank++) {
    least = Math.max(least, Math.min(1, (size - rank) * others[rank]!));
  }
  return Math.max(least, Math.min(1, (size - rank) * own));
}
