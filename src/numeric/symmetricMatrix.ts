import { requireFinite } from "./requireArguments.ts";

/**
 * Eigenvalues of a small symmetric matrix, in no order, each with its unit eigenvector in the same place, by Jacobi's
 * rotations.
 *
 * @param matrix  rows; only read
 * @throws NotFiniteError  NaN or infinity in the matrix, rows one after the other
 * @source C. G. J. Jacobi, J. reine angew. Math. 30 (1846) 51-94; G. H. Golub, C. F. Van Loan, Matrix Computations,
 *   4th edition (2013), section 8.5
 */
export function symmetricEigen(matrix: readonly (readonly number[])[]): {
  values: readonly number[];
  vectors: readonly (readonly number[])[];
} {
  requireFinite("symmetricEigen", Float64Array.from(matrix.flat()));
  const size = matrix.length;
  const m = matrix.map((row) => [...row]);
  // one eigenvector a row
  const v: number[][] = Array.from({ length: size }, (_, i) => Array.from({ length: size }, (_, j) => Number(i === j)));
  // converges quadratically: six sweeps are plenty
  for (let sweep = 0; sweep < 20; sweep++) {
    if (isDiagonal(m)) break;
    for (let p = 0; p < size; p++) for (let q = p + 1; q < size; q++) rotate(m, v, p, q);
  }
  return { values: m.map((row, k) => row[k]!), vectors: v };
}

/** To the last digit of its largest elements. */
function isDiagonal(m: readonly number[][]): boolean {
  let off = 0;
  let all = 0;
  for (const [i, row] of m.entries())
    for (const [j, value] of row.entries()) {
      all += value * value;
      if (i !== j) off += value * value;
    }
  return !(off > 1e-32 * all);
}

/** Turns rows and columns p and q of the matrix so that their element vanishes, and the vectors with them. */
function rotate(m: number[][], v: number[][], p: number, q: number): void {
  const apq = m[p]![q]!;
  if (apq === 0) return;
  const theta = (m[q]![q]! - m[p]![p]!) / (2 * apq);
  const t = (theta >= 0 ? 1 : -1) / (Math.abs(theta) + Math.sqrt(theta * theta + 1));
  const c = 1 / Math.sqrt(t * t + 1);
  const s = t * c;
  for (const row of m) [row[p], row[q]] = [c * row[p]! - s * row[q]!, s * row[p]! + c * row[q]!];
  for (const rows of [m, v])
    for (let k = 0; k < m.length; k++) {
      const [pk, qk] = [rows[p]![k]!, rows[q]![k]!];
      rows[p]![k] = c * pk - s * qk;
      rows[q]![k] = s * pk + c * qk;
    }
}

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

/**
 * Lower triangle L of a symmetric positive definite matrix, A = L L'.
 *
 * @param matrix   size x size, row-major; only the lower triangle is read
 * @param ownPart  smallest part of a diagonal element that may be left at its turn; a smaller one means that the
 *                 row nearly depends on those before it
 * @returns row-major, zero above the diagonal; null where the matrix is not clearly positive definite
 * @source G. H. Golub, C. F. Van Loan, Matrix Computations, 4th ed. (2013), sec. 4.2
 * @example choleskyFactor(Float64Array.of(4, 2, 2, 5), 2, 1e-12) // => 2, 0, 1, 2
 */
export function choleskyFactor(matrix: Float64Array, size: number, ownPart: number): Float64Array | null {
  const lower = new Float64Array(size * size);
  for (let row = 0; row < size; row++) {
    for (let column = 0; column <= row; column++) {
      let rest = matrix[row * size + column]!;
      for (let k = 0; k < column; k++) rest -= lower[row * size + k]! * lower[column * size + k]!;
      if (column < row) lower[row * size + column] = rest / lower[column * size + column]!;
      else if (rest > ownPart * matrix[row * size + row]!) lower[row * size + row] = Math.sqrt(rest);
      else return null;
    }
  }
  return lower;
}

/** Solves L L' x = b for the factor L of `choleskyFactor`; b is left as it is. */
export function solveCholesky(lower: Float64Array, b: Float64Array): Float64Array {
  const size = b.length;
  const x = b.slice();
  for (let row = 0; row < size; row++) {
    for (let k = 0; k < row; k++) x[row]! -= lower[row * size + k]! * x[k]!;
    x[row]! /= lower[row * size + row]!;
  }
  for (let row = size - 1; row >= 0; row--) {
    for (let k = row + 1; k < size; k++) x[row]! -= lower[k * size + row]! * x[k]!;
    x[row]! /= lower[row * size + row]!;
  }
  return x;
}

/** Inverse of L L', row-major, for the factor L of `choleskyFactor`. */
export function invertCholesky(lower: Float64Array, size: number): Float64Array {
  const inverse = new Float64Array(size * size);
  const unit = new Float64Array(size);
  for (let column = 0; column < size; column++) {
    unit.fill(0)[column] = 1;
    // symmetric: a column may be stored as a row
    inverse.set(solveCholesky(lower, unit), column * size);
  }
  return inverse;
}
