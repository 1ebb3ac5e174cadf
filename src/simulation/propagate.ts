import { NotFiniteError } from "../foundation/errors.ts";
import type { LinearSystem } from "./plant.ts";

/** A linear system at a fixed step, exact where its inputs run straight between steps; only the terms that are not zero. */
export interface Stepper {
  readonly states: number;
  readonly inputs: number;
  /** terms of row i are at start[i] .. start[i + 1] (exclusive) */
  readonly start: Int32Array;
  /** column in [state, input now, input next] */
  readonly column: Int32Array;
  readonly factor: Float64Array;
}

/**
 * Exact discretisation for inputs that are linear between steps (first-order hold).
 *
 * @param step seconds
 * @source G. F. Franklin, J. D. Powell, M. L. Workman, Digital Control of Dynamic Systems, 3rd ed., 6.3.2 (triangle hold)
 */
export function discretize(system: LinearSystem, step: number): Stepper {
  const { states: n, inputs: m } = system;
  const size = n + 2 * m;
  const block = new Float64Array(size * size);
  for (let row = 0; row < n; row++) {
    for (let column = 0; column < n; column++) block[row * size + column] = system.a[row * n + column]! * step;
    for (let column = 0; column < m; column++) block[row * size + n + column] = system.b[row * m + column]! * step;
  }
  for (let i = 0; i < m; i++) block[(n + i) * size + n + m + i] = 1;
  const power = matrixExponential(block, size);
  const start = new Int32Array(n + 1);
  const column: number[] = [];
  const factor: number[] = [];
  for (let row = 0; row < n; row++) {
    for (let i = 0; i < size; i++) {
      // rows of the exponential: [transition, gamma 1, gamma 2]; now = gamma 1 - gamma 2, next = gamma 2
      let value = power[row * size + i]!;
      if (i >= n && i < n + m) value -= power[row * size + i + m]!;
      if (value === 0) continue;
      column.push(i);
      factor.push(value);
    }
    start[row + 1] = column.length;
  }
  return { states: n, inputs: m, start, column: Int32Array.from(column), factor: Float64Array.from(factor) };
}

/**
 * States at every step, from rest.
 *
 * @param inputs one column per input of the system, as long as `skip` + `count`; null for an input that stays zero
 * @param count  steps wanted
 * @param skip   steps run before the first one wanted
 * @param onto   count x states that the answer is added to (superposition); left as it is
 * @returns count x states, row by row; with no skip row 0 is rest
 */
export function propagate(
  stepper: Stepper,
  inputs: readonly (Float64Array | null)[],
  { count, skip = 0, onto }: { readonly count: number; readonly skip?: number; readonly onto?: Float64Array },
): Float64Array {
  const { states: n, inputs: m } = stepper;
  const terms = livePart(stepper, inputs);
  const { rows } = terms;
  const result = onto ? onto.slice() : new Float64Array(count * n);
  const live = inputs.flatMap((input, place) => (input === null ? [] : [{ input, place }]));
  // [state, input now, input next]
  const vector = new Float64Array(n + 2 * m);
  const next = new Float64Array(n);
  let resting = true;
  for (let step = 0; step < skip + count; step++) {
    if (step > 0) {
      for (const { input, place } of live) {
        const now = input[step - 1]!;
        const then = input[step]!;
        vector[n + place] = now;
        vector[n + m + place] = then;
        if (now !== 0 || then !== 0) resting = false;
      }
      if (resting) continue;
      multiplySparse(terms, vector, next);
      for (let r = 0; r < rows.length; r++) vector[rows[r]!] = next[r]!;
    }
    if (step < skip) continue;
    const here = (step - skip) * n;
    for (let r = 0; r < rows.length; r++) result[here + rows[r]!]! += next[r]!;
  }
  return result;
}

/** Each row of a sparse matrix times a vector, into `next`. */
function multiplySparse(
  { start, column, factor }: Pick<Stepper, "start" | "column" | "factor">,
  vector: Float64Array,
  next: Float64Array,
): void {
  for (let row = 0, k = 0; row + 1 < start.length; row++) {
    let sum = 0;
    for (const end = start[row + 1]!; k < end; k++) sum += factor[k]! * vector[column[k]!]!;
    next[row] = sum;
  }
}

/** Only the states that the given inputs reach, and the terms that carry something. */
function livePart(
  stepper: Stepper,
  inputs: readonly (Float64Array | null)[],
): { rows: Int32Array; start: Int32Array; column: Int32Array; factor: Float64Array } {
  const { states: n, inputs: m, start, column, factor } = stepper;
  const live = new Uint8Array(n + 2 * m);
  inputs.forEach((input, place) => {
    if (input !== null) live[n + place] = live[n + m + place] = 1;
  });
  for (let found = true; found; ) {
    found = false;
    for (let row = 0; row < n; row++) {
      if (live[row]) continue;
      for (let k = start[row]!; k < start[row + 1]! && !live[row]; k++) if (live[column[k]!]) live[row] = 1;
      if (live[row]) found = true;
    }
  }
  const rows: number[] = [];
  const ends = [0];
  const terms: number[] = [];
  for (let row = 0; row < n; row++) {
    if (!live[row]) continue;
    rows.push(row);
    for (let k = start[row]!; k < start[row + 1]!; k++) if (live[column[k]!]) terms.push(k);
    ends.push(terms.length);
  }
  return {
    rows: Int32Array.from(rows),
    start: Int32Array.from(ends),
    column: Int32Array.from(terms, (k) => column[k]!),
    factor: Float64Array.from(terms, (k) => factor[k]!),
  };
}

/**
 * Exponential of a small square matrix by scaling and squaring of its Taylor series.
 * The norm is brought below 1/4, where 14 terms leave less than 1e-19. For a handful of matrices per flight.
 *
 * @param matrix n x n, row by row
 * @throws NotFiniteError NaN or infinity in the matrix
 * @source C. Moler, C. Van Loan, SIAM Review 45 (2003) 3-49, method 3
 */
export function matrixExponential(matrix: Float64Array, n: number): Float64Array {
  let norm = 0;
  for (let row = 0; row < n; row++) {
    let sum = 0;
    for (let column = 0; column < n; column++) sum += Math.abs(matrix[row * n + column]!);
    if (!Number.isFinite(sum)) throw new NotFiniteError("matrixExponential", row, sum);
    norm = Math.max(norm, sum);
  }
  const squarings = Math.max(0, Math.ceil(Math.log2(norm * 4 || 1)));
  const scaled = matrix.map((value) => value / 2 ** squarings);
  let result = identity(n);
  // Horner: I + S (I + S/2 (I + S/3 (...)))
  for (let term = 14; term >= 1; term--) {
    result = multiply(scaled, result, n).map((value) => value / term);
    for (let i = 0; i < n; i++) result[i * n + i]! += 1;
  }
  for (let i = 0; i < squarings; i++) result = multiply(result, result, n);
  return result;
}

function identity(n: number): Float64Array {
  const result = new Float64Array(n * n);
  for (let i = 0; i < n; i++) result[i * n + i] = 1;
  return result;
}

function multiply(a: Float64Array, b: Float64Array, n: number): Float64Array {
  const result = new Float64Array(n * n);
  for (let row = 0; row < n; row++)
    for (let inner = 0; inner < n; inner++) {
      const factor = a[row * n + inner]!;
      if (factor === 0) continue;
      for (let column = 0; column < n; column++) result[row * n + column]! += factor * b[inner * n + column]!;
    }
  return result;
}
