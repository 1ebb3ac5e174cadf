import { mean } from "./descriptive.ts";
import { leastSquares } from "./leastSquares.ts";

interface LineFit {
  /** value at x = 0 */
  readonly intercept: number;
  readonly slope: number;
  readonly interceptStandardError: number;
  readonly slopeStandardError: number;
  /** denominator n - 2 */
  readonly residualStandardDeviation: number;
}

/**
 * Straight line by least squares. The standard errors hold for independent errors; along a track they are not,
 * and these are then far too small.
 *
 * The line is fitted about the mean of x, where intercept and slope do not disturb each other, however far away x = 0 is.
 *
 * @param x  n >= 3 numbers, not all alike
 * @param y  n numbers
 * @throws TooFewSamplesError  n < 3
 * @throws NotFiniteError      NaN or infinity
 * @throws CounterpoiseError   code `unequal-lengths`; code `rank-deficient`: all x alike
 * @example fitLine(Float64Array.of(0, 1, 2), Float64Array.of(1, 3, 5)).slope // => 2
 */
export function fitLine(x: Float64Array, y: Float64Array): LineFit {
  const centre = x.length > 0 ? mean(x) : 0;
  const fit = leastSquares([new Float64Array(x.length).fill(1), x.map((value) => value - centre)], y);
  const [height, slope] = fit.coefficients as unknown as readonly [number, number];
  const [c00, c01, , c11] = fit.covarianceUnscaled as unknown as readonly [number, number, number, number];
  return {
    intercept: height - slope * centre,
    slope,
    interceptStandardError: fit.residualStandardDeviation * Math.sqrt(c00 - 2 * centre * c01 + centre * centre * c11),
    slopeStandardError: fit.standardErrors[1]!,
    residualStandardDeviation: fit.residualStandardDeviation,
  };
}

/**
 * n over k, as a double; exact below 2^53.
 *
 * @param n  whole, 0 or more
 * @param k  whole, 0 to n
 * @example binomial(8, 4) // => 70
 */
export function binomial(n: number, k: number): number {
  const few = Math.min(k, n - k);
  let result = 1;
  for (let i = 1; i <= few; i++) result = (result * (n - few + i)) / i;
  return Math.round(result);
}
