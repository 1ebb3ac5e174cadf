import { CounterpoiseError } from "../foundation/errors.ts";
import type { Seconds } from "../foundation/units.ts";
import { evenStretches, segmentSamples, welchSpectra } from "./welchSpectra.ts";

/** How much of an error goes with a motion, frequency by frequency. */
export interface MotionCoherence {
  /** Hz */
  readonly frequency: Float64Array;
  /** 0 to 1, one column per error */
  readonly coherence: readonly Float64Array[];
  /** coherence that unrelated signals exceed in a share 1 - level of the bins */
  readonly significance: number;
  readonly segments: number;
  /** length of a segment, seconds */
  readonly segment: Seconds;
}

export interface CoherenceOptions {
  /** median interval, seconds */
  readonly interval: Seconds;
  readonly gapIntervals: number;
  /** wanted length of a segment, seconds; the nearest power of two of samples is taken */
  readonly segment: Seconds;
  /** segments are halved until this many fit; at least 2: the coherence of a single segment is 1 whatever it holds */
  readonly leastSegments: number;
  /** 0.95 by default */
  readonly level?: number;
}

/**
 * Magnitude-squared coherence of errors with a motion: the share of an error's density, at each frequency, that a linear
 * answer to the motion explains.
 *
 *   |Pxy|^2 / (Pxx Pyy),  spectra by Welch's method (see welchSpectra)
 *
 * For unrelated signals and K independent segments its distribution is known: P(coherence > c) = (1 - c)^(K - 1), so the
 * level that chance exceeds in 5 % of the bins is 1 - 0.05^(1 / (K - 1)). Overlapping segments count for half their
 * equivalent degrees of freedom.
 *
 * A high value says that error and motion go together, not which moves the other, and at the cycle's harmonics whatever
 * else repeats with the cycle counts as the arm. Where a motion is measured against the body itself, the body's
 * measurement noise is in both and makes them coherent where nothing but noise is left.
 *
 * @param t       n instants, seconds, increasing; gaps allowed
 * @param errors  columns of n values, no NaN
 * @param motion  n values at the same instants, no NaN
 * @returns null where fewer than two segments fit
 * @throws NotFiniteError     NaN or infinity in a column
 * @throws CounterpoiseError  code `not-segments`: `leastSegments` below 2
 * @source G. C. Carter, C. H. Knapp, A. H. Nuttall, IEEE Trans. Audio Electroacoust. 21 (1973) 337-344 (the distribution)
 */
export function motionCoherence(
  t: Float64Array,
  errors: readonly Float64Array[],
  motion: Float64Array,
  options: CoherenceOptions,
): MotionCoherence | null {
  if (!(options.leastSegments >= 2)) {
    throw new CounterpoiseError(
      "not-segments",
      `motionCoherence requires at least 2 segments, found ${options.leastSegments}`,
    );
  }
  const even = evenStretches(t, [motion, ...errors], options);
  const samples = segmentSamples(even, options.segment, options.leastSegments);
  const pairs = errors.map((_, e) => [0, e + 1] as const);
  const spectra = welchSpectra(even, { samples, pairs });
  if (spectra === null || spectra.segments < 2) return null;
  const [moved, ...densities] = spectra.densities;
  const coherence = spectra.cross.map(({ real, imaginary }, e) =>
    real.map((re, k) => {
      const power = moved![k]! * densities[e]![k]!;
      return power > 0 ? Math.min(1, (re * re + imaginary[k]! * imaginary[k]!) / power) : 0;
    }),
  );
  const alone = spectra.degreesOfFreedom / 2;
  return {
    frequency: spectra.frequency,
    coherence,
    significance: 1 - (1 - (options.level ?? 0.95)) ** (1 / (alone - 1)),
    segments: spectra.segments,
    segment: samples * even.interval,
  };
}
