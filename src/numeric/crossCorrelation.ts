import { CounterpoiseError } from "../foundation/errors.ts";
import { fourierTransform, inverseFourierTransform, nextPowerOfTwo, type Spectrum } from "./fourierTransform.ts";
import { requireFinite } from "./requireFinite.ts";

/**
 * Linear cross-correlation by Fourier transform, zero beyond the ends, not normalised, nothing subtracted:
 *
 *   c[k + maximumLag] = sum over i of a[i] b[i + k],  k = -maximumLag..maximumLag
 *
 * Where b repeats a by k samples later, the peak stands at +k. The rounding error is about 1e-15 |a| |b|, for small
 * values at far lags too.
 *
 * Cost: three transforms of the next power of two above max(n, m) + maximumLag.
 *
 * @param a           n >= 1 numbers
 * @param b           m >= 1 numbers
 * @param maximumLag  whole samples, >= 0
 * @returns 2 maximumLag + 1 numbers
 * @throws TooFewSamplesError  n < 1 or m < 1
 * @throws NotFiniteError      NaN or infinity at index i
 * @throws CounterpoiseError   code `not-a-lag`: maximumLag is negative or no whole number
 * @example crossCorrelation(Float64Array.of(1, 0, 0), Float64Array.of(0, 2, 0), 1) // => 0, 0, 2
 */
export function crossCorrelation(a: Float64Array, b: Float64Array, maximumLag: number): Float64Array {
  requireFinite("crossCorrelation", a);
  requireFinite("crossCorrelation", b);
  if (!Number.isInteger(maximumLag) || maximumLag < 0) {
    throw new CounterpoiseError(
      "not-a-lag",
      `crossCorrelation requires a whole number of samples, 0 or more, as largest lag, found ${maximumLag}`,
    );
  }
  // zeros enough that no lag asked for wraps round
  const length = nextPowerOfTwo(Math.max(a.length, b.length) + maximumLag);
  return correlationOfSpectra([[fourierTransform(a, { length }), fourierTransform(b, { length })]], maximumLag);
}

/**
 * Sum of the cross-correlations of pairs of columns that are transformed already: for columns that are in several pairs, and
 * for sums of correlations, which take one transform back.
 *
 * @param pairs       spectra of a and b of `crossCorrelation`, all of one length, of columns with at least `maximumLag` zeros
 *                    behind them
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
