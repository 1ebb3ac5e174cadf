/** A difference of runs' values as the frames' parameters shift: sum over runs of weight x root(d' form d), d = (1, shifts). */
export interface ShiftedDifference {
  /** by how much each parameter may be off, 0 or more */
  readonly limits: readonly number[];
  /** weight of each run's value in the difference */
  readonly weights: readonly number[];
  /** per run (parameters + 1)^2, row by row, symmetric */
  readonly forms: readonly Float64Array[];
}

/** points looked at along one parameter on either side of the middle */
const steps = 3;
const mostRounds = 40;
/** all corners of the box are looked at up to this many parameters: 4096 */
const mostCorners = 12;

/**
 * The shifts within +- limits at which a difference is least and greatest: from the best of all corners and from the middle, by
 * turns along one parameter after the other until nothing is gained.
 *
 * A search, not a proof: it can miss an extreme, never overstate one. Against a search without these shortcuts, and a fine
 * grid: tests/comparison/frameEffects.test.ts.
 */
export function frameExtremes(shifted: ShiftedDifference): { lowest: Float64Array; highest: Float64Array } {
  const corners = bestCorners(shifted);
  return { lowest: search(shifted, -1, corners.lowest), highest: search(shifted, 1, corners.highest) };
}

/** Value of the difference for a shift. */
export function shiftedDifference({ weights, forms }: ShiftedDifference, shift: ArrayLike<number>): number {
  return forms.reduce((sum, form, i) => sum + weights[i]! * shiftedValue(form, shift), 0);
}

/** A run's rms (or sd) for a shift: root(d' form d). */
export function shiftedValue(form: Float64Array, shift: ArrayLike<number>): number {
  const size = shift.length + 1;
  let square = 0;
  for (let a = 0; a < size; a++) {
    const da = a === 0 ? 1 : shift[a - 1]!;
    if (da === 0) continue;
    for (let b = 0; b < size; b++) square += da * form[a * size + b]! * (b === 0 ? 1 : shift[b - 1]!);
  }
  return Math.sqrt(Math.max(0, square));
}

function search(shifted: ShiftedDifference, sign: 1 | -1, corner: Float64Array): Float64Array {
  const starts = [new Float64Array(shifted.limits.length), corner];
  let best = starts[0]!;
  let height = Number.NEGATIVE_INFINITY;
  for (const start of starts) {
    const place = new Place(shifted, sign, start);
    place.climb();
    // once more without what rounding has gathered
    const reached = sign * shiftedDifference(shifted, place.shift);
    if (reached > height) {
      best = place.shift;
      height = reached;
    }
  }
  return best;
}

/** Corner after corner, one parameter turned over at each step (Gray's order). */
function bestCorners(shifted: ShiftedDifference): { lowest: Float64Array; highest: Float64Array } {
  const count = shifted.limits.length;
  const start = Float64Array.from(shifted.limits, (limit) => -limit);
  const place = new Place(shifted, 1, start);
  let [lowest, highest] = [start, start];
  let [low, high] = [place.height(0, 0), place.height(0, 0)];
  for (let corner = 1; corner < 2 ** Math.min(count, mostCorners); corner++) {
    const k = Math.log2(corner & -corner);
    place.move(k, -2 * place.shift[k]!);
    const here = place.height(0, 0);
    if (here < low) [low, lowest] = [here, place.shift.slice()];
    if (here > high) [high, highest] = [here, place.shift.slice()];
  }
  return { lowest, highest };
}

/** A shift with the runs' squares there, so that a step along one parameter costs no more than one number per run. */
class Place {
  readonly shift: Float64Array;
  private readonly shifted: ShiftedDifference;
  private readonly sign: 1 | -1;
  /** d' form d per run, and form d */
  private readonly squares: Float64Array;
  private readonly slopes: Float64Array[];

  constructor(shifted: ShiftedDifference, sign: 1 | -1, start: Float64Array) {
    this.shifted = shifted;
    this.sign = sign;
    this.shift = start.slice();
    const size = start.length + 1;
    const d = Float64Array.of(1, ...start);
    this.slopes = shifted.forms.map((form) =>
      d.map((_, a) => d.reduce((sum, value, b) => sum + form[a * size + b]! * value, 0)),
    );
    this.squares = Float64Array.from(this.slopes, (slopes) => slopes.reduce((sum, value, a) => sum + value * d[a]!, 0));
  }

  /** sign x difference after a further step along parameter k. */
  height(k: number, step: number): number {
    const { weights, forms } = this.shifted;
    const size = this.shift.length + 1;
    const diagonal = (k + 1) * (size + 1);
    let sum = 0;
    for (let i = 0; i < forms.length; i++) {
      const square = this.squares[i]! + step * (2 * this.slopes[i]![k + 1]! + step * forms[i]![diagonal]!);
      if (square > 0) sum += weights[i]! * Math.sqrt(square);
    }
    return this.sign * sum;
  }

  move(k: number, step: number): void {
    const { forms } = this.shifted;
    const size = this.shift.length + 1;
    for (let i = 0; i < forms.length; i++) {
      const form = forms[i]!;
      const slopes = this.slopes[i]!;
      this.squares[i]! += step * (2 * slopes[k + 1]! + step * form[(k + 1) * (size + 1)]!);
      for (let a = 0; a < size; a++) slopes[a]! += step * form[a * size + k + 1]!;
    }
    this.shift[k]! += step;
  }

  climb(): void {
    let height = this.height(0, 0);
    for (let round = 0; round < mostRounds; round++) {
      const before = height;
      for (const [k, limit] of this.shifted.limits.entries()) {
        if (limit === 0) continue;
        const from = this.shift[k]!;
        let best = 0;
        const look = (at: number): void => {
          const there = this.height(k, at - from);
          if (there > height) {
            height = there;
            best = at - from;
          }
        };
        for (let step = -steps; step <= steps; step++) look((limit * step) / steps);
        // halve the grid about the best point
        for (let width = limit / steps / 2; width > 0.02 * limit; width /= 2) {
          const centre = from + best;
          look(Math.max(-limit, centre - width));
          look(Math.min(limit, centre + width));
        }
        if (best !== 0) this.move(k, best);
      }
      if (!(height > before + 1e-9 * Math.abs(before))) break;
    }
  }
}
