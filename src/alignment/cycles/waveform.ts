import { brentMinimum } from "../../numeric/brentMinimum.ts";
import { extent } from "../../numeric/descriptive.ts";
import { fitHarmonicDesign, type HarmonicShare, harmonicDesign, harmonicShare } from "../../numeric/fitHarmonics.ts";

/** A periodic command as a sum of harmonics per axis about its centre. */
export interface Waveform {
  readonly period: number;
  /** instant of phase 0, which is the first sample it was fitted to, and the last such sample, seconds */
  readonly start: number;
  readonly end: number;
  readonly centre: readonly [number, number, number];
  /** cosine and sine coefficients of harmonic 1..K per axis, metres */
  readonly cosines: readonly [Float64Array, Float64Array, Float64Array];
  readonly sines: readonly [Float64Array, Float64Array, Float64Array];
  /** root mean square of what the harmonics leave, metres, and of the whole motion about its centre */
  readonly residual: number;
  readonly spread: number;
}

/** Samples of a command: equal length columns, seconds and metres. */
export interface CommandSamples {
  readonly t: Float64Array;
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly z: Float64Array;
  /** whether each holds until the next, so that a motion begins where the first that differs comes */
  readonly held?: boolean;
  /** whether it shows where in its cycle the arm is, and nothing of its path: no metres (`armPhase`) */
  readonly phaseOnly?: boolean;
}

/** Least-squares harmonics of samples at a given period. Null where there are too few samples for them. */
export function fitWaveform(samples: CommandSamples, period: number, harmonics: number): Waveform | null {
  const n = samples.t.length;
  if (n < 3 * (2 * harmonics + 2)) return null;
  const start = samples.t[0]!;
  try {
    const design = harmonicDesign(phases(samples.t, period), harmonics);
    const fits = [samples.x, samples.y, samples.z].map((column) => fitHarmonicDesign(design, column));
    // the fit is to harmonics about their means: the constant that belongs to the harmonics themselves follows from these
    const centre = fits.map((fit) => fit.mean - meanOfHarmonics(design.means, fit.cosines, fit.sines));
    const sum = (pick: (fit: (typeof fits)[number]) => number): number =>
      fits.reduce((total, fit) => total + pick(fit), 0);
    return {
      period,
      start,
      end: samples.t[n - 1]!,
      centre: [centre[0]!, centre[1]!, centre[2]!],
      cosines: [fits[0]!.cosines, fits[1]!.cosines, fits[2]!.cosines],
      sines: [fits[0]!.sines, fits[1]!.sines, fits[2]!.sines],
      residual: Math.sqrt(sum((fit) => fit.remainingMeanSquare)),
      spread: Math.sqrt(sum((fit) => fit.remainingMeanSquare + fit.synchronousMeanSquare)),
    };
  } catch {
    // rank-deficient: the samples do not cover a cycle
    return null;
  }
}

/**
 * What harmonics of a given period leave of the samples, as a share of their spread about the centre; 1 where there are too few
 * samples to tell.
 */
export function unexplainedShare(samples: CommandSamples, period: number, harmonics: number): number {
  if (samples.t.length < 3 * (2 * harmonics + 2)) return 1;
  try {
    const shares = sharesAt(samples, [samples.x, samples.y, samples.z], period, harmonics);
    const sum = (pick: (share: HarmonicShare) => number): number => shares.reduce((all, share) => all + pick(share), 0);
    return Math.sqrt(sum((share) => share.remainingMeanSquare) / sum((share) => share.meanSquare));
  } catch {
    // rank-deficient: the samples do not cover a cycle
    return 1;
  }
}

/** What harmonics of a given period leave of each column. */
function sharesAt(
  { t }: CommandSamples,
  columns: readonly Float64Array[],
  period: number,
  harmonics: number,
): HarmonicShare[] {
  const design = harmonicDesign(phases(t, period), harmonics);
  return columns.map((column) => harmonicShare(design, column));
}

/** Phase at each instant, radians, 0 at the first. */
function phases(t: Float64Array, period: number): Float64Array {
  const theta = new Float64Array(t.length);
  for (let i = 0; i < theta.length; i++) theta[i] = (2 * Math.PI * (t[i]! - t[0]!)) / period;
  return theta;
}

function meanOfHarmonics(means: Float64Array, cosines: Float64Array, sines: Float64Array): number {
  let sum = 0;
  for (let k = 0; k < cosines.length; k++) sum += cosines[k]! * means[2 * k]! + sines[k]! * means[2 * k + 1]!;
  return sum;
}

/** Position on the waveform at an instant, metres. */
export function waveformAt(wave: Waveform, t: number): [number, number, number] {
  const theta = (2 * Math.PI * (t - wave.start)) / wave.period;
  const out: [number, number, number] = [wave.centre[0], wave.centre[1], wave.centre[2]];
  const harmonics = wave.cosines[0].length;
  for (let k = 0; k < harmonics; k++) {
    const c = Math.cos((k + 1) * theta);
    const s = Math.sin((k + 1) * theta);
    for (let axis = 0; axis < 3; axis++) out[axis]! += wave.cosines[axis]![k]! * c + wave.sines[axis]![k]! * s;
  }
  return out;
}

/** Largest excursion between two opposite ends of the waveform per axis, metres, from 720 points of one period. */
export function waveformExtent(wave: Waveform): [number, number, number] {
  const low = [Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY];
  const high = [Number.NEGATIVE_INFINITY, Number.NEGATIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (let i = 0; i < 720; i++) {
    const p = waveformAt(wave, wave.start + (i * wave.period) / 720);
    for (let axis = 0; axis < 3; axis++) {
      low[axis] = Math.min(low[axis]!, p[axis]!);
      high[axis] = Math.max(high[axis]!, p[axis]!);
    }
  }
  return [high[0]! - low[0]!, high[1]! - low[1]!, high[2]! - low[2]!];
}

/**
 * The period near a guess at which harmonics leave the smallest residual: a scan of the range, then Brent's search.
 * A guess that already fits the samples to their own digits is kept.
 *
 * @param share  half width of the range as a share of the guess
 */
export function refinePeriod(samples: CommandSamples, guess: number, share: number, harmonics: number): number {
  const moving = [samples.x, samples.y, samples.z].filter((column) => rangeOf(column) > 1e-6);
  const start = samples.t[0]!;
  const cost = (period: number): number => {
    try {
      return sharesAt(samples, moving, period, harmonics).reduce((sum, share) => sum + share.remainingMeanSquare, 0);
    } catch {
      return Number.POSITIVE_INFINITY;
    }
  };
  let best = guess;
  let lowest = cost(guess);
  const spread = moving.reduce((sum, column) => sum + (rangeOf(column) / 2) ** 2, 0);
  if (lowest < 1e-8 * spread) return guess;
  const duration = samples.t[samples.t.length - 1]! - start;
  // the residual has a valley about period^2 / duration wide: look at least four times in it
  const points = Math.min(400, Math.max(9, 2 * Math.ceil((4 * share * duration) / guess) + 1));
  for (let i = 0; i < points; i++) {
    const period = guess * (1 - share + (2 * share * i) / (points - 1));
    const value = cost(period);
    if (value < lowest * (1 - 1e-9)) {
      lowest = value;
      best = period;
    }
  }
  const width = (2 * share * guess) / (points - 1);
  return brentMinimum(cost, best - width, best + width, 1e-7 * guess);
}

function rangeOf(column: Float64Array): number {
  const { low, high } = extent(column);
  return high - low;
}
