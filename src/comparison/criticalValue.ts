import { normalQuantile } from "../numeric/normalQuantile.ts";
import { studentTQuantile } from "../numeric/studentTQuantile.ts";

/** from here on the series is exact to thirteen digits, while Student's t by its fraction grows slow and loses digits */
const MANY = 20_000;

/**
 * The value that Student's t exceeds with the probability given, thirteen digits, for any number of runs up to the largest.
 *
 * Asked for by the probability outside: one minus it would lose digits.
 *
 * @param outside           0 to 1
 * @param degreesOfFreedom  above 0, need not be whole
 * @throws CounterpoiseError  code `not-a-probability`; code `not-degrees-of-freedom`
 * @source the series: M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions (1964), 26.7.5
 * @example criticalValue(0.025, 4) // => 2.77644510519779
 */
export function criticalValue(outside: number, degreesOfFreedom: number): number {
  if (!(degreesOfFreedom > MANY) || !Number.isFinite(degreesOfFreedom)) {
    return -studentTQuantile(outside, degreesOfFreedom);
  }
  const z = -normalQuantile(outside);
  if (!Number.isFinite(z)) return z;
  const square = z * z;
  const terms = [
    (square + 1) / 4,
    ((5 * square + 16) * square + 3) / 96,
    (((3 * square + 19) * square + 17) * square - 15) / 384,
  ] as const;
  const r = 1 / degreesOfFreedom;
  return z * (1 + r * (terms[0] + r * (terms[1] + r * terms[2])));
}
