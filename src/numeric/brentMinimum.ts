/** Share of the longer part at which a golden section falls. */
const golden = 0.5 * (3 - Math.sqrt(5));

/**
 * Place of the minimum of a function with one valley: parabolas through the three best points where they close in on it,
 * golden sections where they do not. Near a smooth minimum a handful of calls gives what sections alone need thirty for.
 *
 * @param cost       the function; of one with several valleys the bottom of one of them is found
 * @param from       left end of the bracket, finite
 * @param to         right end of the bracket, finite
 * @param tolerance  the minimum is within half of it of the place given, or within some units of the last place of the ends
 * @returns NaN where an end or the tolerance is none
 * @source R. P. Brent, Algorithms for Minimization without Derivatives (1973), ch. 5
 * @example brentMinimum((x) => (x - 2) ** 2, 0, 5, 1e-9) // => 2
 */
// biome-ignore lint/complexity/noExcessiveCognitiveComplexity: published as one loop over six points, and read beside the book so
export function brentMinimum(cost: (x: number) => number, from: number, to: number, tolerance: number): number {
  // no two points are looked at that lie closer together, nor so close that they round to one
  const apart = Math.max(tolerance / 4, 4 * Number.EPSILON * Math.max(Math.abs(from), Math.abs(to)), Number.MIN_VALUE);
  if (!Number.isFinite(to - from + apart)) return Number.NaN;
  let a = from;
  let b = to;
  let best = a + golden * (b - a);
  let second = best;
  let third = best;
  let atBest = cost(best);
  let atSecond = atBest;
  let atThird = atBest;
  let step = 0;
  let before = 0;
  for (;;) {
    const middle = 0.5 * (a + b);
    if (Math.abs(best - middle) + 0.5 * (b - a) <= 2 * apart) return best;
    const parabola = parabolaStep(best, second, third, atBest, atSecond, atThird);
    // believed where it stays inside and moves less than half as far as the step before the last
    const inside = best + parabola > a && best + parabola < b;
    if (inside && Math.abs(parabola) < 0.5 * Math.abs(before)) {
      before = step;
      step = parabola;
      const next = best + step;
      if (next - a < 2 * apart || b - next < 2 * apart) step = best < middle ? apart : -apart;
    } else {
      before = best < middle ? b - best : a - best;
      step = golden * before;
    }
    if (Math.abs(step) < apart) step = step > 0 ? apart : -apart;
    const next = best + step;
    const atNext = cost(next);
    const isBetter = atNext <= atBest;
    // the better of the two stays within the bracket, the other becomes its end
    if (isBetter === next < best) b = isBetter ? best : next;
    else a = isBetter ? best : next;
    if (isBetter) {
      [third, second, best] = [second, best, next];
      [atThird, atSecond, atBest] = [atSecond, atBest, atNext];
      continue;
    }
    if (atNext <= atSecond || second === best) {
      [third, second] = [second, next];
      [atThird, atSecond] = [atSecond, atNext];
    } else if (atNext <= atThird || third === best || third === second) {
      third = next;
      atThird = atNext;
    }
  }
}

/** From x to the bottom of the parabola through three points; NaN where they are not three, or on one line. */
function parabolaStep(x: number, w: number, v: number, atX: number, atW: number, atV: number): number {
  const r = (x - w) * (atX - atV);
  const q = (x - v) * (atX - atW);
  return (0.5 * ((x - w) * r - (x - v) * q)) / (q - r);
}
