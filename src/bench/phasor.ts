/**
 * Phasor a - i b of a cos(k theta) + b sin(k theta): real and imaginary part. A part later by d in phase is multiplied by
 * exp(-i k d).
 */
export type Phasor = readonly [re: number, im: number];

export const phasorOf = ({ cos, sin }: { readonly cos: number; readonly sin: number }): Phasor => [cos, -sin];
export const magnitude = ([re, im]: Phasor): number => Math.hypot(re, im);
export const timesNumber = ([re, im]: Phasor, factor: number): Phasor => [re * factor, im * factor];
export const product = (a: Phasor, b: Phasor): Phasor => [a[0] * b[0] - a[1] * b[1], a[0] * b[1] + a[1] * b[0]];
export const quotient = (a: Phasor, b: Phasor): Phasor => {
  const square = b[0] ** 2 + b[1] ** 2;
  return [(a[0] * b[0] + a[1] * b[1]) / square, (a[1] * b[0] - a[0] * b[1]) / square];
};
export const plus = (a: Phasor, b: Phasor): Phasor => [a[0] + b[0], a[1] + b[1]];
export const minus = (a: Phasor, b: Phasor): Phasor => [a[0] - b[0], a[1] - b[1]];
export const conjugate = ([re, im]: Phasor): Phasor => [re, -im];

export const meanPhasor = (all: readonly Phasor[]): Phasor => timesNumber(all.reduce(plus, [0, 0]), 1 / all.length);

/** Variance of either part of a phasor from run to run. */
export function scatter(all: readonly Phasor[]): number {
  const centre = meanPhasor(all);
  return all.reduce((sum, one) => sum + magnitude(minus(one, centre)) ** 2, 0) / (2 * (all.length - 1));
}
