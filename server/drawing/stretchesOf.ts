/** Rows `from` to `to` (not included) of a track without a gap between them. */
export interface Stretch {
  readonly from: number;
  readonly to: number;
}

/**
 * Cuts rows at the gaps: where two neighbouring instants lie further apart than `widest`.
 *
 * @param t       instants, seconds, increasing
 * @param from    first row
 * @param to      row after the last
 * @param widest  seconds; NaN or infinity: nothing is a gap
 */
export function stretchesOf(t: Float64Array, from: number, to: number, widest: number): Stretch[] {
  const stretches: Stretch[] = [];
  let start = from;
  for (let i = from + 1; i < to; i++) {
    if (t[i]! - t[i - 1]! <= widest || !Number.isFinite(widest)) continue;
    stretches.push({ from: start, to: i });
    start = i;
  }
  if (to > start) stretches.push({ from: start, to });
  return stretches;
}
