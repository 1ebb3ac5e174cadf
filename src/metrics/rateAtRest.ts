import { synchronousSplit } from "./synchronousSplit.ts";

/** One harmonic of the cycle rate, found in a window in which the arm rests. */
export interface RateAtRest {
  readonly k: number;
  /** metres */
  readonly amplitude: number;
  /** how often chance alone shows such an amplitude */
  readonly p: number;
}

/**
 * What moves at whole multiples of the cycle rate while the arm rests: the air's or the controller's own share, which the
 * synchronous error of the cycle window holds as well and which cannot be distinguished from the arm's there.
 *
 * The harmonics are fitted over the most whole periods that the window holds. With v = (cos, sin), C its covariance from
 * the residual's density beside the harmonic, found from m neighbours: v' C^-1 v / 2 is F(2, 2 m) by chance, and
 *
 *   p = (1 + v' C^-1 v / (2 m))^-m
 *
 * @param t       instants of the window, seconds, increasing; gaps allowed
 * @param errors  the axes' errors at these, metres, no NaN
 * @param window  in which the arm rests, seconds
 * @param period  of the cycles flown later, seconds
 * @returns per series its harmonics; null where fewer than four periods fit or too few samples are there
 * @source F distribution with 2 degrees of freedom in closed form: M. Abramowitz, I. A. Stegun (1964), 26.6.4 (from memory)
 */
export function rateAtRest(
  t: Float64Array,
  errors: readonly Float64Array[],
  window: readonly [number, number],
  period: number,
  options: { readonly harmonics: number; readonly neighbours: number },
): RateAtRest[][] | null {
  const cycles = Math.floor((window[1] - window[0]) / period + 1e-9);
  if (cycles < 4) return null;
  const whole = [window[0], window[0] + cycles * period] as const;
  let n = t.length;
  while (n > 0 && t[n - 1]! >= whole[1]) n--;
  const splits = synchronousSplit(
    t.subarray(0, n),
    errors.map((error) => error.subarray(0, n)),
    whole,
    cycles,
    { ...options, settle: 0, clock: null },
  );
  // neighbours on both sides, never as far as the next harmonic
  const m = Math.max(1, Math.min(options.neighbours, cycles - 1));
  return (
    splits?.map(({ harmonics }) =>
      harmonics.map(({ k, amplitude, cos, sin, cov: [c, off, s] }) => {
        const size = (cos * cos * s - 2 * cos * sin * off + sin * sin * c) / (c * s - off * off);
        return { k, amplitude, p: Number.isFinite(size) && size > 0 ? (1 + size / (2 * m)) ** -m : 1 };
      }),
    ) ?? null
  );
}
