import { CounterpoiseError } from "../foundation/errors.ts";
import { requireFinite } from "./requireFinite.ts";
import { requireSameLength } from "./requireSameLength.ts";

/**
 * Delay of y after x from the slope of the phase of their cross-spectrum, in samples and parts of a sample.
 *
 * The phase at bin k is -2 pi k delay / n. It is unwrapped from the lowest bin upwards along the slope found so far, so
 * the lowest bin must turn by less than half a circle: |delay| < n / (2 k). The slope goes through phase 0 at
 * frequency 0; bins count by the size of their cross-spectrum.
 *
 * Bins are summed directly, without a power of two: n times as many multiplications as bins.
 *
 * @param x     n numbers, equally spaced
 * @param y     n numbers
 * @param bins  bins of the n-point transform where x has energy, whole numbers from 1 to n / 2
 * @returns samples, positive where y comes later
 * @throws TooFewSamplesError  n < 2
 * @throws NotFiniteError      NaN or infinity at index i
 * @throws CounterpoiseError   code `unequal-lengths`; code `no-energy`: no bin, or none that both signals fill
 * @source C. H. Knapp, G. C. Carter, IEEE Trans. ASSP 24 (1976) 320-327
 */
export function crossSpectrumDelay(x: Float64Array, y: Float64Array, bins: readonly number[]): number {
  requireSameLength("crossSpectrumDelay", x.length, y.length);
  requireFinite("crossSpectrumDelay", x, 2);
  requireFinite("crossSpectrumDelay", y, 2);
  let products = 0;
  let squares = 0;
  for (const bin of [...bins].sort((a, b) => a - b)) {
    const first = transformAt(x, bin);
    const second = transformAt(y, bin);
    const re = first.re * second.re + first.im * second.im;
    const im = first.re * second.im - first.im * second.re;
    const weight = Math.hypot(re, im);
    const expected = squares > 0 ? (products / squares) * bin : 0;
    const wrapped = Math.atan2(im, re);
    const phase = wrapped + 2 * Math.PI * Math.round((expected - wrapped) / (2 * Math.PI));
    products += weight * bin * phase;
    squares += weight * bin * bin;
  }
  if (!(squares > 0)) {
    throw new CounterpoiseError(
      "no-energy",
      `crossSpectrumDelay requires a bin in which both signals have energy, found none among ${bins.length}`,
    );
  }
  return (-products / squares) * (x.length / (2 * Math.PI));
}

function transformAt(values: Float64Array, bin: number): { re: number; im: number } {
  const n = values.length;
  let re = 0;
  let im = 0;
  for (let i = 0; i < n; i++) {
    // whole turns are taken off in whole numbers, where nothing is rounded
    const angle = (2 * Math.PI * ((bin * i) % n)) / n;
    re += values[i]! * Math.cos(angle);
    im -= values[i]! * Math.sin(angle);
  }
  return { re, im };
}
