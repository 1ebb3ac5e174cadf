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
