import type { Vector3 } from "../foundation/units.ts";
import { symmetricEigen } from "./symmetricMatrix.ts";

/**
 * Columns cos theta, sin theta, cos 2 theta, sin 2 theta, ... of a harmonic regression.
 *
 * The multiples come from the addition theorem, one cosine and one sine per sample; the rounding grows by about
 * one unit of the last place per harmonic.
 *
 * @param theta      n phases, radians, any spacing
 * @param harmonics  K >= 0
 * @returns 2 K columns of n numbers
 * @example harmonicBasis(Float64Array.of(0), 2).map((column) => column[0]) // => 1, 0, 1, 0
 */
export function harmonicBasis(theta: Float64Array, harmonics: number): Float64Array[] {
  const columns = Array.from({ length: 2 * harmonics }, () => new Float64Array(theta.length));
  if (harmonics === 0) return columns;
  const [cosine, sine] = [columns[0]!, columns[1]!];
  fillFirst(theta, cosine, sine);
  for (let k = 1; k < harmonics; k++) {
    turnOn(columns[2 * k - 2]!, columns[2 * k - 1]!, cosine, sine, columns[2 * k]!, columns[2 * k + 1]!);
  }
  return columns;
}

function fillFirst(theta: Float64Array, cosine: Float64Array, sine: Float64Array): void {
  for (let i = 0; i < theta.length; i++) {
    cosine[i] = Math.cos(theta[i]!);
    sine[i] = Math.sin(theta[i]!);
  }
}

/** cos (k + 1) theta and sin (k + 1) theta from those of k theta and of theta; `toC` and `toS` may be `c` and `s`. */
export function turnOn(
  c: Float64Array,
  s: Float64Array,
  cosine: Float64Array,
  sine: Float64Array,
  toC: Float64Array,
  toS: Float64Array,
): void {
  for (let i = 0; i < c.length; i++) {
    const next = c[i]! * cosine[i]! - s[i]! * sine[i]!;
    toS[i] = s[i]! * cosine[i]! + c[i]! * sine[i]!;
    toC[i] = next;
  }
}

/** An axis through the centre of points. */
interface TurnAxis {
  readonly direction: Vector3;
  /** root of the sum of the squared distances of the points from it, in the points' unit */
  readonly spread: number;
}

/** What points fix of a body's attitude. */
interface FittedTurns {
  readonly centre: Vector3;
  /** at right angles, the one about which the points fix the turn worst first */
  readonly axes: readonly [TurnAxis, TurnAxis, TurnAxis];
}

/**
 * How well points fix the turns of a body fitted to them: with noise s on each coordinate of each point the turn about an
 * axis has the standard deviation s / spread, radians, independently of the two others. Points on one line have the spread
 * 0 about it.
 *
 * @param points  n >= 3 places, one after the other: x y z x y z ...
 * @source J. M. Fitzpatrick, J. B. West, C. R. Maurer, Predicting error in rigid-body point-based registration, IEEE Trans.
 *   Med. Imaging 17 (1998) 694-702: to first order in the noise
 */
export function fittedTurns(points: ArrayLike<number>): FittedTurns {
  const n = Math.floor(points.length / 3);
  const centre: [number, number, number] = [0, 0, 0];
  for (let i = 0; i < 3 * n; i++) centre[i % 3]! += points[i]! / n;
  const scatter = [0, 1, 2].map((a) =>
    [0, 1, 2].map((b) => {
      let sum = 0;
      for (let i = 0; i < 3 * n; i += 3) sum += (points[i + a]! - centre[a]!) * (points[i + b]! - centre[b]!);
      return sum;
    }),
  );
  const { vectors } = symmetricEigen(scatter);
  const axes = vectors.map((vector): TurnAxis => {
    const direction: Vector3 = [vector[0]!, vector[1]!, vector[2]!];
    let sum = 0;
    // distance by distance: the difference of two sums would lose the small ones
    for (let i = 0; i < 3 * n; i += 3)
      sum += distance([points[i]!, points[i + 1]!, points[i + 2]!], centre, direction) ** 2;
    return { direction, spread: Math.sqrt(sum) };
  });
  const [worst, middle, best] = axes.sort((a, b) => a.spread - b.spread);
  return { centre, axes: [worst!, middle!, best!] };
}

/** Distance of a place from the line through the centre. */
function distance([x, y, z]: Vector3, [a, b, c]: Vector3, [u, v, w]: Vector3): number {
  const [p, q, r] = [x - a, y - b, z - c];
  return Math.hypot(q * w - r * v, r * u - p * w, p * v - q * u);
}
