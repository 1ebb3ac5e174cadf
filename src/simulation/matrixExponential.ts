import { NotFiniteError } from "../foundation/errors.ts";

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
