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
