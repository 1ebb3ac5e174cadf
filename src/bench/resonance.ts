import type { SensorFilter } from "../contract/benchDeclaration.ts";
import type { Hertz } from "../foundation/units.ts";
import { transformOfLength } from "../numeric/fourierTransform.ts";
import { fitLine } from "../numeric/leastSquares.ts";
import { type Phasor, product, quotient } from "./phasor.ts";

/**
 * By how much a fixture that is not rigid shows a force too large: 1 / (1 - r^2) - 1, r the force's frequency over the
 * fixture's. A single degree of freedom, little damped, well below its resonance.
 *
 * @source C. M. Harris, A. G. Piersol, Shock and Vibration Handbook (from memory): 1, 5, 10 % at r = 0.1, 0.2, 0.3
 * @example resonanceError(0.2) // => 0.041666666666666664
 */
export function resonanceError(ratio: number): number {
  return 1 / (1 - ratio * ratio) - 1;
}

/**
 * Where a frequency shows that is sampled too slowly: its distance from the nearest multiple of the rate.
 *
 * @source C. E. Shannon, Proc. IRE 37 (1949) 10-21
 * @example aliasOf(190, 100) // => 10
 */
export function aliasOf(frequency: Hertz, rate: Hertz): Hertz {
  return Math.abs(frequency - rate * Math.round(frequency / rate));
}

/**
 * Gain and lag of the measuring device's low-pass at a frequency, as a factor of the phasor.
 *
 * Butterworth of order n: 1 / product over its poles of (1 - j f / (fc p)), p on the unit circle's left half; `rc`: n equal
 * stages whose -3 dB together lies at the cutoff, so that each has fc / sqrt(2^(1/n) - 1).
 *
 * @source S. Butterworth, Experimental Wireless 7 (1930) 536-541
 */
export function filterResponse({ kind, order, cutoff }: SensorFilter, frequency: Hertz): Phasor {
  let response: Phasor = [1, 0];
  if (kind === "rc") {
    const corner = cutoff / Math.sqrt(2 ** (1 / order) - 1);
    for (let k = 0; k < order; k++) response = quotient(response, [1, frequency / corner]);
    return response;
  }
  for (let k = 0; k < order; k++) {
    // pole p = exp(j angle): the factor is (s - p) / (-p), s = j f / fc
    const angle = (Math.PI * (2 * k + order + 1)) / (2 * order);
    const pole: Phasor = [Math.cos(angle), Math.sin(angle)];
    const factor = quotient([-pole[0], frequency / cutoff - pole[1]], [-pole[0], -pole[1]]);
    response = quotient(response, factor);
  }
  return product(response, [1, 0]);
}

/** What a fixture does when struck once. */
export interface RingDown {
  readonly frequency: Hertz;
  /** of critical */
  readonly damping: number;
  /** swings that it was read from */
  readonly swings: number;
}

/**
 * Natural frequency and damping from a ring-down: the spectrum's peak, then the logarithmic decrement over the swings that stand
 * above the noise (a line through the logarithms of their sizes).
 *
 *   delta = ln(x_i / x_(i+1)),   zeta = delta / sqrt(4 pi^2 + delta^2),   f_n = f_d / sqrt(1 - zeta^2)
 *
 * @param values  from the blow on, about its rest
 * @param rate    readings per second
 * @param noise   standard deviation at rest
 * @returns null where fewer than four half swings stand above five times the noise
 * @source S. S. Rao, Mechanical Vibrations, sec. 2.6 (logarithmic decrement)
 */
export function ringDown(values: Float64Array, rate: Hertz, noise: number): RingDown | null {
  const at = largestAt(values);
  const tail = values.subarray(at);
  const peaks: { at: number; size: number }[] = [];
  for (let from = 0; from < tail.length; ) {
    // one half swing: until the noise is clearly left on the other side
    const side = Math.sign(tail[from]!);
    let to = from + 1;
    while (to < tail.length && !(side * tail[to]! < -3 * noise)) to++;
    const best = from + largestAt(tail.subarray(from, to));
    const size = Math.abs(tail[best]!);
    if (size < 5 * noise || to >= tail.length) break;
    peaks.push({ at: best, size });
    from = to;
  }
  // the blow itself is still pushing
  const free = peaks.slice(1);
  if (free.length < 4) return null;
  const { slope } = fitLine(
    Float64Array.from(free, (_, i) => i / 2),
    Float64Array.from(free, ({ size }) => Math.log(size)),
  );
  const decrement = Math.max(0, -slope);
  const damping = decrement / Math.hypot(2 * Math.PI, decrement);
  const frequency = spectralPeak(tail.subarray(free[0]!.at, free.at(-1)!.at + 1), rate);
  return { frequency: frequency / Math.sqrt(1 - damping * damping), damping, swings: free.length / 2 };
}

/** Frequency of the largest peak of the spectrum, a parabola through its logarithm; padded four times, under a Hann window. */
export function spectralPeak(values: Float64Array, rate: Hertz): Hertz {
  const n = values.length;
  const length = 2 ** Math.ceil(Math.log2(Math.max(16, 4 * n)));
  const padded = new Float64Array(length);
  const centre = values.reduce((sum, value) => sum + value, 0) / n;
  for (let i = 0; i < n; i++) padded[i] = (values[i]! - centre) * (0.5 - 0.5 * Math.cos((2 * Math.PI * (i + 0.5)) / n));
  const transform = transformOfLength(length);
  const found = new Float64Array(2 * length);
  transform.realTransform(found, padded);
  const power = (bin: number): number => found[2 * bin]! ** 2 + found[2 * bin + 1]! ** 2;
  let best = 1;
  for (let bin = 2; bin < length / 2 - 1; bin++) if (power(bin) > power(best)) best = bin;
  const [a, b, c] = [Math.log(power(best - 1)), Math.log(power(best)), Math.log(power(best + 1))];
  const shift = Number.isFinite(a) && Number.isFinite(c) ? (0.5 * (a - c)) / (a - 2 * b + c) : 0;
  return ((best + shift) * rate) / length;
}

function largestAt(values: Float64Array): number {
  let best = 0;
  for (let i = 1; i < values.length; i++) if (Math.abs(values[i]!) > Math.abs(values[best]!)) best = i;
  return best;
}
