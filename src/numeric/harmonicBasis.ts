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
  for (let i = 0; i < theta.length; i++) {
    const c1 = Math.cos(theta[i]!);
    const s1 = Math.sin(theta[i]!);
    let c = 1;
    let s = 0;
    for (let k = 0; k < harmonics; k++) {
      const next = c * c1 - s * s1;
      s = s * c1 + c * s1;
      c = next;
      columns[2 * k]![i] = c;
      columns[2 * k + 1]![i] = s;
    }
  }
  return columns;
}
