import type { SpendingKind } from "../../contract/looksPlan.ts";
import { normalCdf, normalQuantile } from "../../numeric/normal.ts";
import { requireProbability } from "../../numeric/requireArguments.ts";
import { walkBoundaries } from "../../numeric/walkBoundaries.ts";

/**
 * How much of an error rate may be spent up to a fraction of the information, two-sided:
 *
 *   obrien-fleming:  4 - 4 Phi(z(level/4) / sqrt(t))        hardly anything early, nearly all at the end
 *   pocock:          level ln(1 + (e - 1) t)                about as much at each look
 *
 * @param level     0 to 1
 * @param fraction  of the information declared; above 1 counts as 1, at 0 nothing is spent
 * @returns 0 to `level`
 * @throws CounterpoiseError  code `not-a-probability`
 * @source K. K. G. Lan, D. L. DeMets, Biometrika 70 (1983) 659-663
 * @example spentUpTo("obrien-fleming", 0.05, 0.2) // => 1.08e-6
 */
export function spentUpTo(kind: SpendingKind, level: number, fraction: number): number {
  requireProbability("spentUpTo", level);
  if (!(fraction > 0) || level === 0) return 0;
  if (fraction >= 1) return level;
  if (kind === "pocock") return level * Math.log1p((Math.E - 1) * fraction);
  return 4 * normalCdf(normalQuantile(level / 4) / Math.sqrt(fraction));
}

/**
 * The two-sided p below which the last of a row of looks shows a difference, at a level for all of them together.
 *
 * On the significance level's scale: p of any test stands for that of a normal one, as the looks' correlations are those of
 * sums that grow. A last fraction of 1 or more spends all that is left.
 *
 * @param level      for all looks together, 0 to 1
 * @param fractions  of the information declared, rising, the last that of this look
 * @throws CounterpoiseError  codes `not-a-probability`, `not-a-schedule`
 * @source Lan and DeMets as `spentUpTo`; C. Jennison, B. W. Turnbull, Group Sequential Methods (2000), section 3.3 (t tests
 *         on the significance level's scale) and chapter 7 (spending)
 * @example thresholdAt("obrien-fleming", 0.05, [0.2, 0.4, 0.6, 0.8, 1]) // => 0.04225, critical value 2.0310
 */
export function thresholdAt(kind: SpendingKind, level: number, fractions: readonly number[]): number {
  let before = 0;
  const exits = fractions.map((fraction) => {
    const spent = spentUpTo(kind, level, fraction);
    const own = Math.max(0, spent - before);
    before = spent;
    return own;
  });
  return 2 * normalCdf(-walkBoundaries(fractions, exits).at(-1)!);
}
