/** A vector, or a row of a 3 x 3 matrix. */
export type Three = [number, number, number];

/** Matrix times vector. */
export function times(matrix: readonly Three[], vector: Three): Three {
  return matrix.map((row) => row[0] * vector[0] + row[1] * vector[1] + row[2] * vector[2]) as Three;
}

/** The inverse by cofactors; null where it is singular, or so near that a block carries nearly all there is to know. */
export function inverseOf([p, q, r]: readonly Three[]): Three[] | null {
  const [a, b, c] = [cross(q!, r!), cross(r!, p!), cross(p!, q!)];
  const determinant = p![0] * a[0] + p![1] * a[1] + p![2] * a[2];
  const scale = Math.hypot(...p!) * Math.hypot(...q!) * Math.hypot(...r!);
  if (!(Math.abs(determinant) > 1e-9 * scale)) return null;
  return [0, 1, 2].map((i) => [a[i]! / determinant, b[i]! / determinant, c[i]! / determinant] as Three);
}

function cross([a, b, c]: Three, [d, e, f]: Three): Three {
  return [b * f - c * e, c * d - a * f, a * e - b * d];
}
