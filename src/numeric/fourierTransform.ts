import { CounterpoiseError } from "../foundation/errors.ts";
import { requireFinite } from "./requireFinite.ts";
import { transformOfLength } from "./transformOfLength.ts";

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
