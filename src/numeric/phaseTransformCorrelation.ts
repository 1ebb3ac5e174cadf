import { CounterpoiseError } from "../foundation/errors.ts";
import { fourierTransform, inverseFourierTransform, nextPowerOfTwo } from "./fourierTransform.ts";
import { requireSameLength } from "./requireSameLength.ts";

/**
 * Circular cross-correlation with the phase transform: every frequency counts alike, only its phase speaks.
 * Where y repeats x by k samples later (round the end), a unit impulse stands at index k.
 *
 * Not for narrow-band motion: frequencies that hold nothing but noise are raised to the same weight.
 *
 * @param x  n numbers, n a power of two
 * @param y  n numbers
 * @returns n numbers, index = lag of y after x, modulo n; a frequency that one of the two lacks altogether adds nothing
 * @throws TooFewSamplesError  n < 1
 * @throws NotFiniteError      NaN or infinity at index i
 * @throws CounterpoiseError   code `unequal-lengths`; code `not-a-transform-length`: n is no power of two, and
 *                             zeros would break the circle
 * @source C. H. Knapp, G. C. Carter, IEEE Trans. ASSP 24 (1976) 320-327
 * @example phaseTransformCorrelation(Float64Array.of(1, 0, 0, 0), Float64Array.of(0, 1, 0, 0)) // => 0, 1, 0, 0
 */
export function phaseTransformCorrelation(x: Float64Array, y: Float64Array): Float64Array {
  requireSameLength("phaseTransformCorrelation", x.length, y.length);
  if (x.length > 0 && nextPowerOfTwo(x.length) !== x.length) {
    throw new CounterpoiseError(
      "not-a-transform-length",
      `phaseTransformCorrelation requires a power of two of samples, found ${x.length}`,
    );
  }
  const first = fourierTransform(x);
  const second = fourierTransform(y);
  const real = new Float64Array(first.real.length);
  const imaginary = new Float64Array(first.real.length);
  for (let k = 0; k < real.length; k++) {
    const re = first.real[k]! * second.real[k]! + first.imaginary[k]! * second.imaginary[k]!;
    const im = first.real[k]! * second.imaginary[k]! - first.imaginary[k]! * second.real[k]!;
    const size = Math.hypot(re, im);
    if (size === 0) continue;
    real[k] = re / size;
    imaginary[k] = im / size;
  }
  return inverseFourierTransform({ length: first.length, real, imaginary });
}
