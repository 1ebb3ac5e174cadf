import type { Hertz, Seconds } from "../foundation/units.ts";
import { chiSquaredQuantile } from "../numeric/chiSquared.ts";
import { evenStretches, segmentSamples, welchSpectra } from "./welchSpectra.ts";

/** Power spectral density of an error, several axes at the same frequencies. */
export interface ErrorSpectrum {
  readonly frequency: Float64Array;
  /** one-sided, square metres per hertz, one column per axis */
  readonly densities: readonly Float64Array[];
  readonly segments: number;
  /** length of a segment, seconds */
  readonly segment: Seconds;
  /** equivalent noise bandwidth, Hz: a sine of amplitude a stands a^2 / (2 bandwidth) high */
  readonly bandwidth: Hertz;
  readonly degreesOfFreedom: number;
  /** the true density lies between these multiples of the one found, at the level asked for */
  readonly factors: readonly [number, number];
}

export interface SpectrumOptions {
  /** median interval, seconds */
  readonly interval: Seconds;
  readonly gapIntervals: number;
  /** wanted length of a segment, seconds; the nearest power of two of samples is taken */
  readonly segment: Seconds;
  /** segments are halved until this many fit */
  readonly leastSegments: number;
  /** level of the interval, 0.95 by default */
  readonly level?: number;
}

/**
 * Spectrum of an error: at which frequencies a vehicle wanders, swings with its arm, shakes, and where the capture's
 * noise begins. Welch's method with a Hann window and half overlap, each segment about its own mean, over gap-free
 * stretches only (see welchSpectra, evenStretches).
 *
 * The interval is that of a chi-squared variable over its degrees of freedom; it holds bin by bin for what is random,
 * not for the lines of the arm's cycle.
 *
 * @param t       n instants, seconds, increasing; gaps allowed
 * @param errors  the axes: columns of n errors, metres, no NaN
 * @returns null where no gap-free stretch holds a segment of 16 samples
 * @throws NotFiniteError  NaN or infinity in an error
 */
export function errorSpectrum(
  t: Float64Array,
  errors: readonly Float64Array[],
  options: SpectrumOptions,
): ErrorSpectrum | null {
  const even = evenStretches(t, errors, options);
  const samples = segmentSamples(even, options.segment, options.leastSegments);
  const spectra = welchSpectra(even, { samples });
  if (spectra === null) return null;
  const { frequency, densities, segments, bandwidth, degreesOfFreedom } = spectra;
  const tail = (1 - (options.level ?? 0.95)) / 2;
  return {
    frequency,
    densities,
    segments,
    segment: samples * even.interval,
    bandwidth,
    degreesOfFreedom,
    factors: [
      degreesOfFreedom / chiSquaredQuantile(1 - tail, degreesOfFreedom),
      degreesOfFreedom / chiSquaredQuantile(tail, degreesOfFreedom),
    ],
  };
}

/** The bin nearest to a frequency; null above the last. */
export function nearestBin(frequency: Float64Array, wanted: Hertz): number | null {
  const bin = Math.round(wanted / frequency[1]!);
  return bin < frequency.length ? bin : null;
}

/**
 * Which bins to draw: on a logarithmic axis most bins of a spectrum fall on top of each other. Bands of equal ratio keep
 * the bin of each axis' largest density, so no peak is lost; bins asked for are kept as well, bin 0 is not (it has no
 * place on the axis, and with the mean removed nothing to show).
 *
 * What is left is the upper edge of a rough spectrum: for levels and areas use the whole.
 *
 * @param densities  columns of the same bins
 * @param most       bins to keep at most, at least 2 per column
 * @param kept       bins to keep in any case (the cycle's harmonics)
 * @returns ascending bins
 */
export function spectrumBins(densities: readonly Float64Array[], most: number, kept: readonly number[]): number[] {
  const bins = densities[0]?.length ?? 0;
  if (bins - 1 <= most) return Array.from({ length: Math.max(0, bins - 1) }, (_, k) => k + 1);
  const bands = Math.floor((most - kept.length) / densities.length);
  const ratio = (bins - 1) ** (1 / bands);
  const chosen = new Set(kept);
  let from = 1;
  for (let band = 1; from < bins; band++) {
    const to = Math.min(bins, Math.max(from + 1, Math.ceil(ratio ** band)));
    for (const density of densities) {
      let peak = from;
      for (let k = from + 1; k < to; k++) if (density[k]! > density[peak]!) peak = k;
      chosen.add(peak);
    }
    from = to;
  }
  return [...chosen].sort((a, b) => a - b);
}
