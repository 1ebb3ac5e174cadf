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
