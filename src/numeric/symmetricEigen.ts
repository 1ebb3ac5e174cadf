import { requireFinite } from "./requireFinite.ts";

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
    let off = 0;
    let all = 0;
    for (let i = 0; i < size; i++)
      for (let j = 0; j < size; j++) {
        all += m[i]![j]! * m[i]![j]!;
        if (i !== j) off += m[i]![j]! * m[i]![j]!;
      }
    if (!(off > 1e-32 * all)) break;
    for (let p = 0; p < size; p++)
      for (let q = p + 1; q < size; q++) {
        const apq = m[p]![q]!;
        if (apq === 0) continue;
        const theta = (m[q]![q]! - m[p]![p]!) / (2 * apq);
        const t = (theta >= 0 ? 1 : -1) / (Math.abs(theta) + Math.sqrt(theta * theta + 1));
        const c = 1 / Math.sqrt(t * t + 1);
        const s = t * c;
        for (let k = 0; k < size; k++) {
          const kp = m[k]![p]!;
          const kq = m[k]![q]!;
          m[k]![p] = c * kp - s * kq;
          m[k]![q] = s * kp + c * kq;
        }
        for (let k = 0; k < size; k++) {
          const pk = m[p]![k]!;
          const qk = m[q]![k]!;
          m[p]![k] = c * pk - s * qk;
          m[q]![k] = s * pk + c * qk;
          const vp = v[p]![k]!;
          const vq = v[q]![k]!;
          v[p]![k] = c * vp - s * vq;
          v[q]![k] = s * vp + c * vq;
        }
      }
  }
  return { values: m.map((row, k) => row[k]!), vectors: v };
}
