import { CounterpoiseError } from "../foundation/errors.ts";
import { fitHarmonicDesign, type HarmonicFit, harmonicDesign } from "../numeric/fitHarmonics.ts";
import { fourierSums } from "../numeric/fourierSums.ts";

export interface Harmonic {
  readonly k: number;
  /** a of a cos(k theta + phi), metres */
  readonly amplitude: number;
  readonly amplitude_se: number;
  /** phi, radians */
  readonly phase: number;
  readonly phase_se: number;
  /** coefficient of cos k theta, metres */
  readonly cos: number;
  /** coefficient of sin k theta, metres */
  readonly sin: number;
  /** [var cos, cov, var sin], square metres */
  readonly cov: readonly [number, number, number];
}

export interface SynchronousSplit {
  readonly harmonics: readonly Harmonic[];
  /** root mean square of the part at whole multiples of the cycle rate */
  readonly rms: number;
  /** root mean square of the rest, about the mean */
  readonly remaining_rms: number;
}

/**
 * Synchronous error: least-squares harmonics of the cycle phase, a cos(k theta + phi), over whole cycles, with the
 * covariance of each pair of coefficients from the spectral density of the residual beside the harmonic.
 *
 *   bias^2 + rms^2 + remaining_rms^2 = mean square of the error, exactly, gaps or not
 *
 * White noise would understate the uncertainty of a slow harmonic: what moves a hovering vehicle is slow. The density is
 * therefore read from the residual's Fourier coefficients at j / D beside k / T (D: length of the window, T: period), the
 * bins of the harmonics left out, in pairs on both sides by their geometric mean, which is right for a density that
 * falls off exponentially across them. A slow wander also ends elsewhere than it began, and that step leaks into the
 * sines: for a step of variance 2 g (g: variance of what is slower than the harmonic) by 2 g / (pi j)^2 at bin j.
 *
 * The error also inherits the uncertainty of the clock offset: a shift of dt moves the coefficients by the velocity's
 * coefficients times dt, all together. That part is added to the covariance.
 *
 * @param t        n instants within the window, seconds, increasing; gaps allowed
 * @param errors   series of n errors (the axes), metres, no NaN
 * @param window   start (theta = 0) and end of the whole cycles, seconds
 * @param cycles   number of whole cycles in the window
 * @param options.harmonics   highest harmonic K
 * @param options.neighbours  bins on either side of a harmonic
 * @param options.settle      seconds from the start of the cycles left out of the residual's density: the start-up
 *   transient is no noise
 * @param options.clock       measured positions (metres) of the same series and the variance of the clock offset
 *   (square seconds); null where both share one clock
 * @returns one split per series; null where there are fewer than two cycles or too few samples to tell the harmonics apart
 * @source the variance of a regression coefficient on a periodic regressor is the noise spectral density at its
 *   frequency over the duration: U. Grenander, M. Rosenblatt, Statistical Analysis of Stationary Time Series (1957), ch. 7
 */
export function synchronousSplit(
  t: Float64Array,
  errors: readonly Float64Array[],
  window: readonly [number, number],
  cycles: number,
  options: SplitOptions,
): SynchronousSplit[] | null {
  if (cycles < 2 || t.length < 4 * (2 * options.harmonics + 2)) return null;
  const duration = window[1] - window[0];
  const theta = t.map((instant) => (2 * Math.PI * cycles * (instant - window[0])) / duration);
  try {
    const design = harmonicDesign(theta, options.harmonics);
    const { clock } = options;
    const fits = errors.map((error) => fitHarmonicDesign(design, error));
    const densities = neighbourDensities(
      t,
      fits.map(({ residuals }) => residuals),
      window,
      cycles,
      options,
    );
    return fits.map((fit, series) => {
      const motion = clock === null ? null : fitHarmonicDesign(design, clock.measured[series]!);
      return describeSplit(fit, motion, densities[series]!, window, cycles, options);
    });
  } catch (cause) {
    // gaps leave too little of the cycle
    if (cause instanceof CounterpoiseError && cause.code === "rank-deficient") return null;
    throw cause;
  }
}

export interface SplitOptions {
  readonly harmonics: number;
  readonly neighbours: number;
  readonly settle: number;
  readonly clock: { readonly measured: readonly Float64Array[]; readonly variance: number } | null;
}

function describeSplit(
  fit: HarmonicFit,
  motion: HarmonicFit | null,
  density: readonly Density[],
  window: readonly [number, number],
  cycles: number,
  options: SplitOptions,
): SynchronousSplit {
  const count = options.harmonics;
  const duration = window[1] - window[0];
  const size = 2 * count;
  const harmonics = Array.from({ length: count }, (_, h): Harmonic => {
    const cos = fit.cosines[h]!;
    const sin = fit.sines[h]!;
    const { local, leak } = density[h]!;
    const at = (i: number, j: number): number => fit.covarianceUnscaled[(2 * h + i) * size + 2 * h + j]!;
    // measured(t - dt): cos and sin coefficients move by -dt k w (s, -c)
    const rate = (2 * Math.PI * cycles * (h + 1)) / duration;
    const shiftCos = motion === null ? 0 : rate * motion.sines[h]!;
    const shiftSin = motion === null ? 0 : -rate * motion.cosines[h]!;
    const clock = options.clock?.variance ?? 0;
    const cov = [
      at(0, 0) * local + clock * shiftCos * shiftCos,
      at(0, 1) * local + clock * shiftCos * shiftSin,
      at(1, 1) * local + leak + clock * shiftSin * shiftSin,
    ] as const;
    const amplitude = Math.hypot(cos, sin);
    // propagated along and across the vector (cos, sin); for a vector shorter than its error the phase is unknown
    const along =
      amplitude === 0 ? cov[0] : (cos * cos * cov[0] + 2 * cos * sin * cov[1] + sin * sin * cov[2]) / amplitude ** 2;
    const across =
      amplitude === 0 ? cov[2] : (sin * sin * cov[0] - 2 * cos * sin * cov[1] + cos * cos * cov[2]) / amplitude ** 2;
    return {
      k: h + 1,
      amplitude,
      amplitude_se: Math.sqrt(along),
      phase: Math.atan2(-sin, cos),
      phase_se: amplitude === 0 ? Math.PI : Math.min(Math.PI, Math.sqrt(across) / amplitude),
      cos,
      sin,
      cov,
    };
  });
  return {
    harmonics,
    rms: Math.sqrt(fit.synchronousMeanSquare),
    remaining_rms: Math.sqrt(fit.remainingMeanSquare),
  };
}

/** What the residual says of the scatter of one harmonic's coefficients, square metres. */
interface Density {
  /** variance of white noise with the density found beside the harmonic */
  readonly local: number;
  /** variance that the step between the ends of the window adds to the sine coefficient */
  readonly leak: number;
}

/** The densities beside the harmonics, of each series of residuals. */
function neighbourDensities(
  t: Float64Array,
  residuals: readonly Float64Array[],
  window: readonly [number, number],
  cycles: number,
  options: SplitOptions,
): Density[][] {
  const period = (window[1] - window[0]) / cycles;
  const left = Math.min(Math.ceil(options.settle / period), Math.floor(cycles / 3));
  const settled = cycles - left;
  const from = window[0] + left * period;
  const first = Math.max(
    0,
    t.findIndex((instant) => instant >= from),
  );
  const reach = Math.max(1, Math.min(options.neighbours, Math.max(2, settled - 1)));
  const times = t.subarray(first);
  const series = residuals.map((column) => matchedEnds(times, column.subarray(first), 0.05 * period));
  const last = options.harmonics * settled + 4 * reach;
  return fourierSums(times, series, [from, window[1]], last).map(({ re, im }) => {
    // equals the variance for white noise, whatever the spacing of the samples
    const powers = re.map((part, bin) => (part * part + im[bin]! * im[bin]!) / times.length);
    return densitiesOf(powers, { samples: times.length, settled, reach, cycles, harmonics: options.harmonics });
  });
}

function densitiesOf(
  powers: Float64Array,
  {
    samples,
    settled,
    reach,
    cycles,
    harmonics,
  }: { samples: number; settled: number; reach: number; cycles: number; harmonics: number },
): Density[] {
  const isHarmonic = (bin: number): boolean => bin % settled === 0 && bin <= harmonics * settled;
  return Array.from({ length: harmonics }, (_, h) => {
    const centre = (h + 1) * settled;
    let sum = 0;
    let pairs = 0;
    for (let d = 1; pairs < reach && d < Math.min(4 * reach, centre); d++) {
      const [low, high] = [centre - d, centre + d];
      if (isHarmonic(low) || isHarmonic(high)) continue;
      sum += Math.sqrt(powers[low]! * powers[high]!);
      pairs++;
    }
    let slower = 0;
    for (let bin = 1; bin < centre - reach; bin++) if (!isHarmonic(bin)) slower += (2 * powers[bin]!) / samples;
    return {
      // the geometric mean of two exponential deviates has mean pi / 4
      local: pairs === 0 ? Number.NaN : sum / pairs / (Math.PI / 4),
      leak: (2 * slower) / (Math.PI * (h + 1) * cycles) ** 2,
    };
  });
}

/**
 * The residual less the straight line between the means of its ends, so that what is left has no step when repeated;
 * unchanged where the ends differ by no more than noise does.
 */
function matchedEnds(t: Float64Array, values: Float64Array, length: number): Float64Array {
  const n = values.length;
  const last = t[n - 1]!;
  let roughness = 0;
  for (let i = 1; i < n; i++) roughness += (values[i]! - values[i - 1]!) ** 2;
  const sums = { begin: 0, end: 0, first: 0, last: 0 };
  for (let i = 0; i < n; i++) {
    if (t[i]! <= t[0]! + length) {
      sums.begin += values[i]!;
      sums.first++;
    }
    if (t[i]! >= last - length) {
      sums.end += values[i]!;
      sums.last++;
    }
  }
  const begin = sums.begin / sums.first;
  const step = sums.end / sums.last - begin;
  // variance of white noise from successive differences, and of the difference of two means of it
  const noise = (roughness / (2 * (n - 1))) * (1 / sums.first + 1 / sums.last);
  if (step * step < 9 * noise) return values;
  return values.map((value, i) => value - begin - (step * (t[i]! - t[0]!)) / (last - t[0]!));
}
