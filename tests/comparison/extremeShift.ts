/** Where a quantity is least and greatest within a box. */
export interface ExtremeShift {
  readonly lowest: Float64Array;
  readonly highest: Float64Array;
}

/** points looked at along one parameter, ends and middle among them */
const steps = 8;
const mostRounds = 20;

/**
 * The shifts within +- limits at which a quantity is least and greatest, by turns along one parameter after the other from
 * several starts. A plain search to hold the faster one against; it can miss an extreme, never overstate one.
 *
 * @param limits  one per parameter, 0 or more
 * @param value   the quantity for a shift; must not keep the array
 */
export function extremeShift(limits: readonly number[], value: (shift: Float64Array) => number): ExtremeShift {
  return { lowest: search(limits, (shift) => -value(shift)), highest: search(limits, value) };
}

function search(limits: readonly number[], value: (shift: Float64Array) => number): Float64Array {
  const middle = new Float64Array(limits.length);
  const corner = middle.map((_, k) => {
    const ahead = value(middle.with(k, 0.01 * limits[k]!));
    const behind = value(middle.with(k, -0.01 * limits[k]!));
    return ahead >= behind ? limits[k]! : -limits[k]!;
  });
  const ends = [...limits.keys()].flatMap((k) => [middle.with(k, limits[k]!), middle.with(k, -limits[k]!)]);
  const single = ends.reduce<Float64Array>((best, end) => (value(end) > value(best) ? end : best), middle);
  let best: Float64Array = middle;
  let height = value(middle);
  for (const start of [middle, corner, single]) {
    const found = climb(start, limits, value);
    const reached = value(found);
    if (reached > height) [best, height] = [found, reached];
  }
  return best;
}

function climb(start: Float64Array, limits: readonly number[], value: (shift: Float64Array) => number): Float64Array {
  const at = start.slice();
  let height = value(at);
  for (let round = 0; round < mostRounds; round++) {
    const before = height;
    for (const [k, limit] of limits.entries()) {
      if (limit === 0) continue;
      let here = at[k]!;
      for (let step = 0; step <= steps; step++) {
        at[k] = limit * ((2 * step) / steps - 1);
        const there = value(at);
        if (there > height) [height, here] = [there, at[k]!];
      }
      at[k] = here;
    }
    if (height === before) break;
  }
  return at;
}
