import type { Hertz, Seconds } from "../foundation/units.ts";
import { transformOfLength } from "../numeric/fourierTransform.ts";
import { requireFinite } from "../numeric/requireArguments.ts";

/** Averaged spectra of several series, and cross-spectra of pairs of them. */
interface WelchSpectra {
  /** 0 to half the sampling rate, segment / 2 + 1 of them */
  readonly frequency: Float64Array;
  /** one-sided power spectral density of each series: unit squared per hertz */
  readonly densities: readonly Float64Array[];
  /** one-sided cross-spectral density conj(X) Y of each pair asked for */
  readonly cross: readonly { readonly real: Float64Array; readonly imaginary: Float64Array }[];
  /** segments averaged */
  readonly segments: number;
  /** samples in a segment */
  readonly samples: number;
  /** equivalent noise bandwidth of the window, 1.5 bins */
  readonly bandwidth: Hertz;
  /** equivalent degrees of freedom of each density: 2 per segment, less what neighbours share */
  readonly degreesOfFreedom: number;
}

interface WelchOptions {
  /** samples in a segment, a power of two */
  readonly samples: number;
  /** `mean`: each segment's own mean is taken off, which leaves nothing at frequency 0 */
  readonly detrend?: "mean" | "none";
  /** pairs of series (by index) whose cross-spectrum is wanted */
  readonly pairs?: readonly (readonly [number, number])[];
}

/** Square of the share of one segment's power that its half-overlapping neighbour has in common: (1/6)^2 for Hann. */
const sharedSquare = 1 / 36;

/**
 * Spectra by Welch's method: half-overlapping segments under a periodic Hann window, their periodograms averaged. A
 * segment never crosses from one stretch to the next.
 *
 *   density[k] = (1 or 2) dt |sum of w x exp(-2 pi j k i / L)|^2 / sum of w^2,   1 at 0 and at half the sampling rate
 *
 * so that density times bin width adds up to the mean square of the windowed segments. The density of white noise of
 * variance s^2 is 2 s^2 dt. A sine of amplitude a on a bin stands a^2 / (2 bandwidth) high.
 *
 * Equivalent degrees of freedom 2 K^2 / (K + 2 p / 36), p the number of overlapping neighbours among the K segments: the
 * variance of a mean of K periodograms whose neighbours correlate by 1/36.
 *
 * @returns null where no stretch is as long as a segment
 * @throws NotFiniteError  NaN or infinity in a series
 * @source P. D. Welch, IEEE Trans. Audio Electroacoust. 15 (1967) 70-73
 */
export function welchSpectra(even: EvenStretches, options: WelchOptions): WelchSpectra | null {
  const { samples, detrend = "mean", pairs = [] } = options;
  const { segments, neighbours } = segmentCount(even, samples);
  if (segments === 0) return null;
  const count = even.stretches[0]!.length;
  const bins = samples / 2 + 1;
  const window = Float64Array.from({ length: samples }, (_, i) => 0.5 - 0.5 * Math.cos((2 * Math.PI * i) / samples));
  const transform = transformOfLength(samples);
  const padded = new Float64Array(samples);
  const found = Array.from({ length: count }, () => new Float64Array(2 * samples));
  const densities = Array.from({ length: count }, () => new Float64Array(bins));
  const cross = pairs.map(() => ({ real: new Float64Array(bins), imaginary: new Float64Array(bins) }));
  for (const stretch of even.stretches) {
    for (const column of stretch) requireFinite("welchSpectra", column, 0);
    for (let from = 0; from + samples <= stretch[0]!.length; from += samples / 2) {
      for (let s = 0; s < count; s++) {
        windowed(stretch[s]!, from, window, detrend, padded);
        transform.realTransform(found[s]!, padded);
        addPower(densities[s]!, found[s]!, found[s]!);
      }
      pairs.forEach(([a, b], p) => {
        addPower(cross[p]!.real, found[a]!, found[b]!);
        addQuadrature(cross[p]!.imaginary, found[a]!, found[b]!);
      });
    }
  }
  // sum of w^2 is 3/8 L exactly
  const scale = even.interval / (0.375 * samples * segments);
  for (const column of [...densities, ...cross.flatMap(({ real, imaginary }) => [real, imaginary])]) {
    for (let k = 0; k < bins; k++) column[k]! *= k === 0 || k === bins - 1 ? scale : 2 * scale;
  }
  return {
    frequency: Float64Array.from({ length: bins }, (_, k) => k / (samples * even.interval)),
    densities,
    cross,
    segments,
    samples,
    bandwidth: 1.5 / (samples * even.interval),
    degreesOfFreedom: (2 * segments * segments) / (segments + 2 * neighbours * sharedSquare),
  };
}

/** Half-overlapping segments that fit, and how many of them have a neighbour before them in the same stretch. */
function segmentCount(even: EvenStretches, samples: number): { segments: number; neighbours: number } {
  let segments = 0;
  let neighbours = 0;
  for (const stretch of even.stretches) {
    const fit = Math.max(0, Math.floor((2 * (stretch[0]?.length ?? 0)) / samples) - 1);
    segments += fit;
    neighbours += Math.max(0, fit - 1);
  }
  return { segments, neighbours };
}

/**
 * Samples in a segment: the power of two nearest to a wanted length (by ratio), halved until at least so many segments
 * fit; never below 16.
 */
export function segmentSamples(even: EvenStretches, wanted: Seconds, leastSegments: number): number {
  let samples = 2 ** Math.max(4, Math.round(Math.log2(wanted / even.interval)));
  while (samples > 16 && segmentCount(even, samples).segments < leastSegments) samples /= 2;
  return samples;
}

function windowed(
  values: Float64Array,
  from: number,
  window: Float64Array,
  detrend: "mean" | "none",
  out: Float64Array,
): void {
  const n = window.length;
  let sum = 0;
  if (detrend === "mean") for (let i = 0; i < n; i++) sum += values[from + i]!;
  const mean = sum / n;
  for (let i = 0; i < n; i++) out[i] = window[i]! * (values[from + i]! - mean);
}

/** Adds Re(conj(a) b) bin by bin; real and imaginary parts alternate in a and b. */
function addPower(sum: Float64Array, a: Float64Array, b: Float64Array): void {
  for (let k = 0; k < sum.length; k++) sum[k]! += a[2 * k]! * b[2 * k]! + a[2 * k + 1]! * b[2 * k + 1]!;
}

/** Adds Im(conj(a) b) bin by bin. */
function addQuadrature(sum: Float64Array, a: Float64Array, b: Float64Array): void {
  for (let k = 0; k < sum.length; k++) sum[k]! += a[2 * k]! * b[2 * k + 1]! - a[2 * k + 1]! * b[2 * k]!;
}

/** Equally spaced, gap-free parts of several series that were sampled at the same instants. */
interface EvenStretches {
  /** mean interval between neighbours, seconds */
  readonly interval: Seconds;
  /** of each stretch the columns, in the order of the series given */
  readonly stretches: readonly (readonly Float64Array[])[];
}

/**
 * Splits series at their gaps into stretches of equal spacing, for what needs neighbours to be equally far apart.
 *
 * Where every step of a stretch is within half an interval of the usual one, the samples themselves are handed on (views,
 * no copies): stamps jitter more than cameras do. Where single samples are missing, which is no gap yet, the stretch is
 * brought to equal spacing along straight lines; nothing crosses a gap.
 *
 * @param t       n instants, seconds, increasing
 * @param series  columns of n values, no NaN
 * @param options.interval      median interval, seconds
 * @param options.gapIntervals  a step longer than this many median intervals is a gap
 */
export function evenStretches(
  t: Float64Array,
  series: readonly Float64Array[],
  options: { interval: Seconds; gapIntervals: number },
): EvenStretches {
  const usual = options.interval;
  const longest = options.gapIntervals * usual;
  let sum = 0;
  let count = 0;
  for (let i = 1; i < t.length; i++) {
    const step = t[i]! - t[i - 1]!;
    if (step > 1.5 * usual) continue;
    sum += step;
    count++;
  }
  const interval = count === 0 ? usual : sum / count;
  const stretches: (readonly Float64Array[])[] = [];
  let from = 0;
  let even = true;
  for (let i = 1; i <= t.length; i++) {
    const step = i < t.length ? t[i]! - t[i - 1]! : Number.POSITIVE_INFINITY;
    if (step <= longest) {
      if (step < 0.5 * usual || step > 1.5 * usual) even = false;
      continue;
    }
    if (i - from > 1) {
      stretches.push(
        series.map((column) =>
          even ? column.subarray(from, i) : respaced(t.subarray(from, i), column.subarray(from, i), interval),
        ),
      );
    }
    from = i;
    even = true;
  }
  return { interval, stretches };
}

/** Values at equal steps from the first instant on, along straight lines between the samples. */
function respaced(t: Float64Array, values: Float64Array, interval: Seconds): Float64Array {
  const last = t.length - 1;
  const out = new Float64Array(Math.floor((t[last]! - t[0]!) / interval + 1e-9) + 1);
  let k = 0;
  for (let i = 0; i < out.length; i++) {
    const at = t[0]! + i * interval;
    while (k < last - 1 && t[k + 1]! <= at) k++;
    const part = Math.min(1, (at - t[k]!) / (t[k + 1]! - t[k]!));
    out[i] = values[k]! + part * (values[k + 1]! - values[k]!);
  }
  return out;
}
