import { fitHarmonics } from "../numeric/fitHarmonics.ts";

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
 * White noise would understate the uncertainty of a slow harmonic: what moves a hovering vehicle is slow. The residual's
 * Fourier coefficients are therefore averaged over the frequencies j / D on both sides of k / T (D: length of the window,
 * T: period), the bins of the harmonics themselves left out. Cosine and sine parts are kept apart: a slow wander that
 * does not return to where it began leaks into the sines of all bins and hardly into the cosines.
 *
 * @param t        instants within the window, seconds, increasing; gaps allowed
 * @param error    metres, no NaN
 * @param window   start (theta = 0) and end of the whole cycles, seconds
 * @param cycles   number of whole cycles in the window
 * The error also inherits the uncertainty of the clock offset: a shift of dt moves the coefficients by the velocity's
 * coefficients times dt, all together. That part is added to the covariance.
 *
 * @param options.harmonics   highest harmonic K
 * @param options.neighbours  bins on either side of a harmonic
 * @param options.settle      seconds from the start of the cycles left out of the residual's density: the start-up
 *   transient is no noise
 * @param options.clock       measured positions (metres) at the same instants and the variance of the clock offset
 *   (square seconds); null where both share one clock
 * @returns null where there are fewer than two cycles or too few samples to tell the harmonics apart
 * @source the variance of a regression coefficient on a periodic regressor is the noise spectral density at its
 *   frequency over the duration: U. Grenander, M. Rosenblatt, Statistical Analysis of Stationary Time Series (1957), ch. 7
 */
export function synchronousSplit(
  t: Float64Array,
  error: Float64Array,
  window: readonly [number, number],
  cycles: number,
  options: {
    harmonics: number;
    neighbours: number;
    settle: number;
    clock: { measured: Float64Array; variance: number } | null;
  },
): SynchronousSplit | null {
  const { harmonics: count } = options;
  if (cycles < 2 || t.length < 4 * (2 * count + 2)) return null;
  const duration = window[1] - window[0];
  const theta = t.map((instant) => (2 * Math.PI * cycles * (instant - window[0])) / duration);
  const fit = tryFit(theta, error, count);
  if (fit === null) return null;
  const density = neighbourDensity(t, fit.residuals, window, cycles, options);
  const motion = options.clock === null ? null : tryFit(theta, options.clock.measured, count);
  const size = 2 * count;
  const harmonics = Array.from({ length: count }, (_, h): Harmonic => {
    const cos = fit.cosines[h]!;
    const sin = fit.sines[h]!;
    const { cosine, sine, product } = density[h]!;
    const at = (i: number, j: number): number => fit.covarianceUnscaled[(2 * h + i) * size + 2 * h + j]!;
    // measured(t - dt): cos and sin coefficients move by -dt k w (s, -c)
    const rate = (2 * Math.PI * cycles * (h + 1)) / duration;
    const shiftCos = motion === null ? 0 : rate * motion.sines[h]!;
    const shiftSin = motion === null ? 0 : -rate * motion.cosines[h]!;
    const clock = options.clock?.variance ?? 0;
    const cov = [
      at(0, 0) * cosine + clock * shiftCos * shiftCos,
      Math.sqrt(at(0, 0) * at(1, 1)) * product + clock * shiftCos * shiftSin,
      at(1, 1) * sine + clock * shiftSin * shiftSin,
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

function tryFit(theta: Float64Array, error: Float64Array, count: number): ReturnType<typeof fitHarmonics> | null {
  try {
    return fitHarmonics(theta, error, count);
  } catch {
    // rank-deficient: gaps leave too little of the cycle
    return null;
  }
}

/** Equivalent white variance of a residual at one harmonic, square metres: of its cosine and sine part, and their product. */
interface Density {
  readonly cosine: number;
  readonly sine: number;
  readonly product: number;
}

/**
 * Variance that white noise would need to give the cosine and sine coefficients the scatter seen in the bins beside each
 * harmonic. Multiplied by the unscaled covariance of the fit it gives that of the coefficients.
 */
function neighbourDensity(
  t: Float64Array,
  residuals: Float64Array,
  window: readonly [number, number],
  cycles: number,
  options: { harmonics: number; neighbours: number; settle: number },
): Density[] {
  const period = (window[1] - window[0]) / cycles;
  const left = Math.min(Math.ceil(options.settle / period), Math.floor(cycles / 3));
  const settled = cycles - left;
  const from = window[0] + left * period;
  const first = Math.max(
    0,
    t.findIndex((instant) => instant >= from),
  );
  const reach = Math.max(1, Math.min(options.neighbours, Math.max(2, settled - 1)));
  const bins = fourierBins(
    t.subarray(first),
    residuals.subarray(first),
    [from, window[1]],
    options.harmonics * settled + 4 * reach,
  );
  const n = t.length - first;
  return Array.from({ length: options.harmonics }, (_, h) => {
    const centre = (h + 1) * settled;
    let cosine = 0;
    let sine = 0;
    let product = 0;
    let used = 0;
    for (let d = 1; used < 2 * reach && d < 4 * reach; d++) {
      for (const bin of [centre - d, centre + d]) {
        // bins of harmonics hold nothing of the noise, bin 0 was taken out with the mean
        if (bin <= 0 || (bin % settled === 0 && bin <= options.harmonics * settled)) continue;
        cosine += bins.cosine[bin]! ** 2;
        sine += bins.sine[bin]! ** 2;
        product += bins.cosine[bin]! * bins.sine[bin]!;
        used++;
      }
    }
    // a white variance s^2 gives each sum a variance of n s^2 / 2
    const scale = 2 / (n * used);
    return { cosine: cosine * scale, sine: sine * scale, product: product * scale };
  });
}

/**
 * Sums of r cos(w t) and r sin(w t) at w = 2 pi bin / duration, bins 0 to `last`, whatever the spacing of the samples.
 * One sine and cosine a sample; the multiples follow by rotation.
 */
function fourierBins(
  t: Float64Array,
  values: Float64Array,
  window: readonly [number, number],
  last: number,
): { cosine: Float64Array; sine: Float64Array } {
  const cosine = new Float64Array(last + 1);
  const sine = new Float64Array(last + 1);
  const omega = (2 * Math.PI) / (window[1] - window[0]);
  for (let i = 0; i < t.length; i++) {
    const c1 = Math.cos(omega * (t[i]! - window[0]));
    const s1 = Math.sin(omega * (t[i]! - window[0]));
    let c = values[i]!;
    let s = 0;
    for (let bin = 0; bin <= last; bin++) {
      cosine[bin]! += c;
      sine[bin]! += s;
      const next = c * c1 - s * s1;
      s = s * c1 + c * s1;
      c = next;
    }
  }
  return { cosine, sine };
}
