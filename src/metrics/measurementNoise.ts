import type { Metres } from "../foundation/units.ts";
import { compensatedSum } from "../numeric/descriptive.ts";
import { requireFinite } from "../numeric/requireArguments.ts";

/** Noise of the motion capture on one axis, metres. */
export interface AxisNoise {
  /** n - 1 */
  readonly sd: number;
  readonly successive_difference: number;
  /** least-squares slope of the capture, metres per second; null where it was not static */
  readonly drift: number | null;
  readonly samples: number;
}

/**
 * Noise from static captures of one axis: each capture's sd about its own mean, pooled over the captures by their
 * degrees of freedom, with the successive-difference noise (what is left when drift is ignored) and the mean drift.
 *
 * @param captures  of each capture: instants (seconds) and readings (metres), increasing, no NaN
 * @returns null where no capture has ten readings
 */
export function staticNoise(captures: readonly { t: Float64Array; values: Float64Array }[]): AxisNoise | null {
  let squares = 0;
  let freedom = 0;
  let differences = 0;
  let steps = 0;
  let drift = 0;
  let weight = 0;
  for (const { t, values } of captures) {
    const n = values.length;
    if (n < 10) continue;
    const mean = values.reduce((sum, value) => sum + value, 0) / n;
    const middle = t.reduce((sum, value) => sum + value, 0) / n;
    let sxy = 0;
    let sxx = 0;
    for (let i = 0; i < n; i++) {
      squares += (values[i]! - mean) ** 2;
      sxy += (t[i]! - middle) * (values[i]! - mean);
      sxx += (t[i]! - middle) ** 2;
    }
    freedom += n - 1;
    differences += successiveDifferenceNoise(values) ** 2 * (n - 1);
    steps += n - 1;
    drift += n * (sxy / sxx);
    weight += n;
  }
  if (freedom === 0) return null;
  return {
    sd: Math.sqrt(squares / freedom),
    successive_difference: Math.sqrt(differences / steps),
    drift: drift / weight,
    samples: freedom,
  };
}

/**
 * Noise of one axis seen in flight: what is faster than the vehicle can move. Third differences of evenly spaced
 * neighbours remove a motion of constant acceleration; for white noise their mean square is 20 times the variance
 * (1 + 9 + 9 + 1). Too high where the vehicle vibrates, too low where the capture was filtered; labelled as such.
 *
 * @param t         instants, seconds, increasing
 * @param values    readings, metres
 * @param interval  median interval, seconds: only runs of four samples within 1.5 intervals of each other count
 * @returns null for fewer than ten such runs
 */
export function flightNoise(t: Float64Array, values: Float64Array, interval: number): AxisNoise | null {
  const n = evenRuns(t, 4 * interval);
  if (n < 10) return null;
  const sd = Math.sqrt(thirdDifferences(t, values, 4 * interval) / (20 * n));
  return { sd, successive_difference: sd, drift: null, samples: n };
}

/** How many runs of four samples are no longer than `longest` seconds. */
function evenRuns(t: Float64Array, longest: number): number {
  let n = 0;
  for (let i = 3; i < t.length; i++) if (t[i]! - t[i - 3]! <= longest) n++;
  return n;
}

/** Sum of the squared third differences over those runs. */
function thirdDifferences(t: Float64Array, values: Float64Array, longest: number): number {
  let squares = 0;
  for (let i = 3; i < t.length; i++) {
    const third = values[i]! - values[i - 3]! + 3 * (values[i - 2]! - values[i - 1]!);
    if (t[i]! - t[i - 3]! <= longest) squares += third * third;
  }
  return squares;
}

/**
 * Measurement noise of one axis by successive differences: what is left of a reading when
 * everything slower than the sampling is ignored.
 *
 *   sqrt( sum over i of (x[i+1] - x[i])^2 / (2 (n - 1)) )
 *
 * Slow drift hardly enters it, so it is smaller than the standard deviation when the stand creeps
 * and larger when neighbouring samples are anti-correlated. Equal to the Allan deviation at m = 1.
 * Not for a track that was filtered or interpolated: neighbours are then alike and it reads too low.
 *
 * @param position  n >= 2 readings of one axis, metres, equally spaced, no gaps
 * @returns metres, >= 0
 * @throws TooFewSamplesError  n < 2
 * @throws NotFiniteError      NaN or infinity at index i; hint: split the track at its gaps first
 * @source J. von Neumann, Ann. Math. Stat. 12 (1941) 367-395; W. J. Riley, NIST SP 1065 (2008), sec. 5
 * @example successiveDifferenceNoise(Float64Array.of(0, 1, 0, 1)) // => 0.7071067811865476
 */
export function successiveDifferenceNoise(position: Float64Array): Metres {
  requireFinite("successiveDifferenceNoise", position, 2);
  const squares = new Float64Array(position.length - 1);
  for (let i = 0; i < squares.length; i++) squares[i] = (position[i + 1]! - position[i]!) ** 2;
  return Math.sqrt(compensatedSum(squares) / (2 * squares.length));
}
