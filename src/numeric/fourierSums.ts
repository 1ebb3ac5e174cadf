import type { Quaternion } from "../foundation/units.ts";
import { symmetricEigen } from "./symmetricMatrix.ts";

/**
 * Fourier sums of several series at the multiples of one rate: sum over i of r_i exp(-i 2 pi j (t_i - from) / (to - from)),
 * for j = 0 to `last`. The samples may lie anywhere; nothing is scaled.
 *
 * One sine and cosine a sample; the multiples follow by rotation, for three series at a time.
 *
 * @param t       n instants, seconds
 * @param series  columns of n numbers
 * @param window  from, to: the interval of which whole turns are counted, seconds
 * @param last    highest bin j
 * @returns for each series real parts and imaginary parts, `last` + 1 of each
 * @example fourierSums(Float64Array.of(0, 0.25, 0.5, 0.75), [Float64Array.of(1, 0, -1, 0)], [0, 1], 1)[0].re[1] // => 2
 */
export function fourierSums(
  t: Float64Array,
  series: readonly Float64Array[],
  window: readonly [number, number],
  last: number,
): { readonly re: Float64Array; readonly im: Float64Array }[] {
  const found: { re: Float64Array; im: Float64Array }[] = [];
  for (let first = 0; first < series.length; first += 3) {
    const three = [series[first]!, series[first + 1] ?? series[first]!, series[first + 2] ?? series[first]!] as const;
    const sums = new Float64Array(6 * (last + 1));
    addTurned(t, three[0], three[1], three[2], window[0], (2 * Math.PI) / (window[1] - window[0]), sums);
    for (let k = 0; k < 3 && first + k < series.length; k++) {
      found.push({
        re: Float64Array.from({ length: last + 1 }, (_, bin) => sums[6 * bin + 2 * k]!),
        im: Float64Array.from({ length: last + 1 }, (_, bin) => -sums[6 * bin + 2 * k + 1]!),
      });
    }
  }
  return found;
}

/** Adds the products of three series with cosine and sine to six sums a bin. A loop alone: it is to stay compiled. */
function addTurned(
  t: Float64Array,
  x: Float64Array,
  y: Float64Array,
  z: Float64Array,
  from: number,
  omega: number,
  sums: Float64Array,
): void {
  for (let i = 0; i < t.length; i++) {
    const angle = omega * (t[i]! - from);
    const c1 = Math.cos(angle);
    const s1 = Math.sin(angle);
    const u = x[i]!;
    const v = y[i]!;
    const w = z[i]!;
    let c = 1;
    let s = 0;
    for (let k = 0; k < sums.length; k += 6) {
      sums[k]! += u * c;
      sums[k + 1]! += u * s;
      sums[k + 2]! += v * c;
      sums[k + 3]! += v * s;
      sums[k + 4]! += w * c;
      sums[k + 5]! += w * s;
      const next = c * c1 - s * s1;
      s = s * c1 + c * s1;
      c = next;
    }
  }
}

/**
 * The turn that carries a first set of vectors best onto a second, from their cross sums: the eigenvector to the largest
 * eigenvalue of a symmetric 4 x 4 matrix. Never a mirrored solution.
 *
 * @param sums  sum over all pairs of first[i] second[j], row by row: xx xy xz yx yy yz zx zy zz
 * @returns the turn (x y z w, w >= 0), and the sum of second . turned first, which it makes largest
 * @source B. K. P. Horn, Closed-form solution of absolute orientation using unit quaternions, J. Opt. Soc. Am. A 4 (1987)
 *   629-642, section 4
 */
export function turnOfSums(sums: readonly number[]): { rotation: Quaternion; sum: number } {
  const [xx, xy, xz, yx, yy, yz, zx, zy, zz] = sums as [
    number,
    number,
    number,
    number,
    number,
    number,
    number,
    number,
    number,
  ];
  // rows of Horn's matrix in the order w x y z
  const { values, vectors } = symmetricEigen([
    [xx + yy + zz, yz - zy, zx - xz, xy - yx],
    [yz - zy, xx - yy - zz, xy + yx, zx + xz],
    [zx - xz, xy + yx, -xx + yy - zz, yz + zy],
    [xy - yx, zx + xz, yz + zy, -xx - yy + zz],
  ]);
  const largest = values.reduce((best, value, k) => (value > values[best]! ? k : best), 0);
  const vector = vectors[largest]!;
  const sign = vector[0]! < 0 ? -1 : 1;
  return {
    rotation: [sign * vector[1]!, sign * vector[2]!, sign * vector[3]!, sign * vector[0]!],
    sum: values[largest]!,
  };
}
