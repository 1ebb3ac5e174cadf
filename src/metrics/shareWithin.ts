import type { Metres } from "../foundation/units.ts";

/**
 * Share of the samples whose error is no longer than a tolerance: what a task that needs the tool within so much sees.
 *
 * Of samples, not of time: where poses are lost, what was flown meanwhile counts for nothing.
 *
 * @param lengths    n lengths of the error vector, metres
 * @param tolerance  metres, >= 0; a length equal to it is within
 * @returns 0 to 1; null without a sample
 * @example shareWithin(Float64Array.of(0.01, 0.02, 0.03, 0.04), 0.02) // => 0.5
 */
export function shareWithin(lengths: Float64Array, tolerance: Metres): number | null {
  let inside = 0;
  for (const length of lengths) if (length <= tolerance) inside++;
  return lengths.length === 0 ? null : inside / lengths.length;
}

/**
 * A mean square that depends on parameters: sum over a, b of form(a, b) u[a] u[b] with u = (1, parameters), symmetric and
 * never below zero.
 */
type SquareForm = (a: number, b: number) => number;

/** Greatest mean square within the limits: the form is convex, so it lies in one of the corners. */
export function greatestSquare(form: SquareForm, limits: Float64Array): number {
  const count = limits.length;
  const at = new Float64Array(count + 1);
  at[0] = 1;
  const matrix = Float64Array.from({ length: (count + 1) ** 2 }, (_, k) =>
    form(Math.floor(k / (count + 1)), k % (count + 1)),
  );
  let greatest = 0;
  for (let corner = 0; corner < 2 ** count; corner++) {
    for (let k = 0; k < count; k++) at[k + 1] = (corner >> k) & 1 ? limits[k]! : -limits[k]!;
    let square = 0;
    for (let a = 0; a <= count; a++) {
      let sum = 0;
      for (let b = 0; b <= count; b++) sum += matrix[a * (count + 1) + b]! * at[b]!;
      square += at[a]! * sum;
    }
    if (square > greatest) greatest = square;
  }
  return greatest;
}

/** Least mean square within the limits, by going down one parameter at a time; convex, so it gets there. */
export function leastSquare(form: SquareForm, limits: Float64Array): number {
  const count = limits.length;
  const at = new Float64Array(count);
  const slope = (k: number): number => {
    let sum = form(0, k + 1);
    for (let j = 0; j < count; j++) sum += form(j + 1, k + 1) * at[j]!;
    return sum;
  };
  for (let sweep = 0; sweep < 200; sweep++) {
    let moved = 0;
    for (let k = 0; k < count; k++) {
      const curvature = form(k + 1, k + 1);
      if (!(curvature > 0)) continue;
      const next = Math.max(-limits[k]!, Math.min(limits[k]!, at[k]! - slope(k) / curvature));
      moved = Math.max(moved, Math.abs(next - at[k]!) / limits[k]!);
      at[k] = next;
    }
    if (moved < 1e-6) break;
  }
  let square = form(0, 0);
  for (let k = 0; k < count; k++) square += at[k]! * (form(0, k + 1) + slope(k));
  return Math.max(0, square);
}
