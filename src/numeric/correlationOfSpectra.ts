import { inverseFourierTransform, type Spectrum } from "./fourierTransform.ts";

/**
 * Sum of the linear cross-correlations of pairs of columns, from their Fourier transforms:
 *
 *   c[k + maximumLag] = sum over pairs and i of a[i] b[i + k],  k = -maximumLag..maximumLag
 *
 * Not normalised, nothing subtracted. Where b repeats a by k samples later, the peak stands at +k. The rounding error is
 * about 1e-15 |a| |b|, for small values at far lags too. One transform back for all pairs; columns that are in several pairs
 * are transformed once.
 *
 * @param pairs       spectra of a and b, all of one length, of columns with at least `maximumLag` zeros behind them
 * @param maximumLag  whole samples, >= 0
 * @returns 2 maximumLag + 1 numbers
 */
export function correlationOfSpectra(
  pairs: readonly (readonly [Spectrum, Spectrum])[],
  maximumLag: number,
): Float64Array {
  const { length } = pairs[0]![0];
  const real = new Float64Array(length / 2 + 1);
  const imaginary = new Float64Array(length / 2 + 1);
  for (const [first, second] of pairs) addCrossSpectrum(first, second, real, imaginary);
  const circular = inverseFourierTransform({ length, real, imaginary });
  const result = new Float64Array(2 * maximumLag + 1);
  for (let lag = -maximumLag; lag <= maximumLag; lag++) {
    result[lag + maximumLag] = circular[lag < 0 ? lag + length : lag]!;
  }
  return result;
}

function addCrossSpectrum(first: Spectrum, second: Spectrum, real: Float64Array, imaginary: Float64Array): void {
  const { real: a, imaginary: b } = first;
  const { real: c, imaginary: d } = second;
  for (let k = 0; k < real.length; k++) {
    real[k]! += a[k]! * c[k]! + b[k]! * d[k]!;
    imaginary[k]! += a[k]! * d[k]! - b[k]! * c[k]!;
  }
}
