/** the level that separates verdicts: a rounded p must not seem to lie on its other side, or on it */
const level = 0.05;

/**
 * A p for a reader, the number alone: two significant figures, more where rounding would take it to 0.05 or across; below
 * 0.001 a bound.
 *
 * @example probabilityNumber(0.0123) // => "0.012"
 * @example probabilityNumber(0.0496) // => "0.0496"
 */
export function probabilityNumber(p: number): string {
  if (p < 0.001) return "< 0.001";
  let digits = 2;
  while (digits < 15 && p !== level && Math.sign(Number(p.toPrecision(digits)) - level) !== Math.sign(p - level))
    digits++;
  return String(Number(p.toPrecision(digits)));
}
