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
 * periodogram is therefore averaged over the frequencies j / D on both sides of k / T (D: length of the window, T:
 * period), the bins of the harmonics themselves left out.
 *
 * @param t        instants within the window, seconds, increasing; gaps allowed
 * @param error    metres, no NaN
 * @param window   start (theta = 0) and end of the whole cycles, seconds
 * @param cycles   number of whole cycles in the window
 * @param options.harmonics   highest harmonic K
 * @param options.neighbours  bins on either side of a harmonic
 * @returns null where there are fewer than two cycles or too few samples to tell the harmonics apart
 * @source the variance of a regression coefficient on a periodic regressor is the noise spectral density at its
 *   frequency over the duration: U. Grenander, M. Rosenblatt, Statistical Analysis of Stationary Time Series (1957), ch. 7
 */
export function synchronousSplit(
  t: Float64Array,
  error: Float64Array,
  window: readonly [number, number],
  cycles: number,
  options: { harmonics: number; neighbours: number },
): SynchronousSplit | null {
  const { harmonics: count, neighbours } = options;
  if (cycles < 2 || t.length < 4 * (2 * count + 2)) return null;
  const duration = window[1] - window[0];
  const theta = t.map((instant) => (2 * Math.PI * cycles * (instant - window[0])) / duration);
  const fit = tryFit(theta, error, count);
  if (fit === null) return null;
  const density = neighbourPower(t, fit.residuals, window, cycles, count, neighbours);
  const size = 2 * count;
  const harmonics = Array.from({ length: count }, (_, h): Harmonic => {
    const cos = fit.cosines[h]!;
    const sin = fit.sines[h]!;
    const scale = density[h]!;
    const at = (i: number, j: number): number => fit.covarianceUnscaled[(2 * h + i) * size + 2 * h + j]! * scale;
    const cov = [at(0, 0), at(0, 1), at(1, 1)] as const;
    const amplitude = Math.hypot(cos, sin);
    // propagated along and across the vector (cos, sin); for a vector shorter than its error the phase is unknown
    const along = amplitude === 0 ? cov[0] : (cos * cos * cov[0] + 2 * cos * sin * cov[1] + sin * sin * cov[2]) / amplitude ** 2;
    const across = amplitude === 0 ? cov[2] : (sin * sin * cov[0] - 2 * cos * sin * cov[1] + cos * cos * cov[2]) / amplitude ** 2;
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

/**
 * Equivalent white variance of the residual at each harmonic, square metres: mean of |sum r exp(-i w t)|^2 / n over the
 * bins beside it. Multiplied by the unscaled covariance of the fit it gives that of the coefficients.
 */
function neighbourPower(
  t: Float64Array,
  residuals: Float64Array,
  window: readonly [number, number],
  cycles: number,
  harmonics: number,
  neighbours: number,
): Float64Array {
  const reach = Math.max(1, Math.min(neighbours, Math.max(2, cycles - 1)));
  const powers = periodograms(t, residuals, window, harmonics * cycles + 4 * reach);
  return Float64Array.from({ length: harmonics }, (_, h) => {
    const centre = (h + 1) * cycles;
    let sum = 0;
    let used = 0;
    for (let d = 1; used < 2 * reach && d < 4 * reach; d++) {
      for (const bin of [centre - d, centre + d]) {
        // bins of harmonics hold nothing of the noise, bin 0 was taken out with the mean
        if (bin <= 0 || (bin % cycles === 0 && bin <= harmonics * cycles)) continue;
        sum += powers[bin]!;
        used++;
      }
    }
    return used === 0 ? Number.NaN : sum / used;
  });
}

/**
 * |sum r exp(-i w t)|^2 / n at w = 2 pi bin / duration, bins 0 to `last`; equals the variance for white noise, whatever
 * the spacing of the samples. One sine and cosine a sample; the multiples follow by rotation.
 */
function periodograms(
  t: Float64Array,
  values: Float64Array,
  window: readonly [number, number],
  last: number,
): Float64Array {
  const re = new Float64Array(last + 1);
  const im = new Float64Array(last + 1);
  const omega = (2 * Math.PI) / (window[1] - window[0]);
  for (let i = 0; i < t.length; i++) {
    const c1 = Math.cos(omega * (t[i]! - window[0]));
    const s1 = Math.sin(omega * (t[i]! - window[0]));
    let c = values[i]!;
    let s = 0;
    for (let bin = 0; bin <= last; bin++) {
      re[bin]! += c;
      im[bin]! += s;
      const next = c * c1 - s * s1;
      s = s * c1 + c * s1;
      c = next;
    }
  }
  return re.map((value, bin) => (value * value + im[bin]! * im[bin]!) / t.length);
}
