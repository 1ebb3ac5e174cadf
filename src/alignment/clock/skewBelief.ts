import type { RefinedOffset } from "./refineOffset.ts";

/**
 * Offset and drift of a clock with what is known of clocks beforehand: that they hardly drift. The motion of a short flight knows
 * the offset well about its middle and the drift poorly, and carried back to the run's start the one is as uncertain as the other.
 *
 * With V the covariance of what the motion shows and s the sd of the belief, the drift is taken for one more measurement, of 0:
 *
 *   gain = (V01, V11) / (V11 + s^2),   offset - gain0 skew,   skew - gain1 skew,   V - gain (V01, V11)
 *
 * A drift that the motion shows well stays what it is: of 4e-4, known to 3e-5, s = 1e-4 leaves 3.7e-4.
 *
 * @param refined   as the motion shows it, at any instant
 * @param believed  sd of clocks' drifts, s/s, above 0
 * @source R. E. Kalman, J. Basic Eng. 82 (1960) 35-45 (one update by a scalar measurement)
 */
export function withBelief(refined: RefinedOffset, believed: number): RefinedOffset {
  const { offset, skew, at, covariance } = refined;
  const [v00, v01, v11] = covariance;
  const total = v11 + believed * believed;
  const [first, second] = [v01 / total, v11 / total];
  const left: RefinedOffset["covariance"] = [v00 - first * v01, v01 - first * v11, v11 - second * v11];
  return {
    offset: offset - first * skew,
    offsetStandardError: Math.sqrt(left[0]),
    skew: skew - second * skew,
    skewStandardError: Math.sqrt(left[2]),
    at,
    covariance: left,
  };
}
