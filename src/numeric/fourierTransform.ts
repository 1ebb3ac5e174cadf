import FFT from "fft.js";
import { CounterpoiseError } from "../foundation/errors.ts";
import { requireFinite } from "./requireArguments.ts";

/** Tables up to this length are kept, a megabyte in all; longer ones are rare, and let go. */
const longestKept = 32_768;

const kept = new Map<number, FFT>();

/**
 * The transform of a length. Its tables of sines cost more than a transform, and the same few lengths come again and again.
 *
 * @param length  a power of two, at least 2
 */
export function transformOfLength(length: number): FFT {
  const known = kept.get(length);
  if (known !== undefined) return known;
  const made = new FFT(length);
  if (length <= longestKept) kept.set(length, made);
  return made;
}

/** Discrete Fourier transform of real values: bins 0 to length / 2; the others are their conjugates. */
export interface Spectrum {
  /** points transformed, a power of two */
  readonly length: number;
  /** length / 2 + 1 numbers */
  readonly real: Float64Array;
  /** length / 2 + 1 numbers */
  readonly imaginary: Float64Array;
}

/** Smallest power of two that is at least n, and at least 2. */
export function nextPowerOfTwo(n: number): number {
  let length = 2;
  while (length < n) length *= 2;
  return length;
}

/**
 * Discrete Fourier transform of real values, X[k] = sum of x[i] exp(-2 pi j k i / length), not normalised.
 *
 * @param values   n >= 1 numbers
 * @param options  `length`: a power of two, at least n, filled up with zeros; without it the next power of two
 * @throws TooFewSamplesError  n < 1
 * @throws NotFiniteError      NaN or infinity at index i
 * @throws CounterpoiseError   code `not-a-transform-length`
 * @example fourierTransform(Float64Array.of(1, 0, 0, 0)).real // => 1, 1, 1
 */
export function fourierTransform(values: Float64Array, options: { length?: number } = {}): Spectrum {
  requireFinite("fourierTransform", values);
  const length = options.length ?? nextPowerOfTwo(values.length);
  if (length < values.length || length !== nextPowerOfTwo(length)) {
    throw new CounterpoiseError(
      "not-a-transform-length",
      `fourierTransform requires a length that is a power of two and at least ${values.length}, found ${length}`,
    );
  }
  const padded = new Float64Array(length);
  padded.set(values);
  const interleaved = new Float64Array(2 * length);
  transformOfLength(length).realTransform(interleaved, padded);
  const bins = length / 2 + 1;
  const real = new Float64Array(bins);
  const imaginary = new Float64Array(bins);
  for (let k = 0; k < bins; k++) {
    real[k] = interleaved[2 * k]!;
    imaginary[k] = interleaved[2 * k + 1]!;
  }
  return { length, real, imaginary };
}

/**
 * The real values whose transform is given: (1 / length) sum of X[k] exp(+2 pi j k i / length).
 *
 * @param spectrum  as `fourierTransform` gives it
 * @returns `length` numbers
 */
export function inverseFourierTransform(spectrum: Spectrum): Float64Array {
  const { length, real, imaginary } = spectrum;
  const interleaved = new Float64Array(2 * length);
  for (let k = 0; k <= length / 2; k++) {
    interleaved[2 * k] = real[k]!;
    interleaved[2 * k + 1] = imaginary[k]!;
  }
  const transform = transformOfLength(length);
  transform.completeSpectrum(interleaved);
  const out = new Float64Array(2 * length);
  transform.inverseTransform(out, interleaved);
  const values = new Float64Array(length);
  for (let i = 0; i < length; i++) values[i] = out[2 * i]!;
  return values;
}

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
