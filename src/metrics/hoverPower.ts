import type { Window } from "../foundation/tracks.ts";
import { mean, plainSumOfSquares } from "../numeric/descriptive.ts";

/** What the battery gave in a window. */
export interface HoverPower {
  /** mean of volts times amperes, watts */
  readonly power: number;
  /** means of both, volts and amperes; the current counted positive when the battery gives it */
  readonly voltage: number;
  readonly current: number;
  readonly samples: number;
  /** readings of the window without a number for both, or with a mark for one */
  readonly leftOut: number;
  /** sign under which the log has what the battery gives */
  readonly discharge: "positive" | "negative";
}

/**
 * Mean output of the motors in a window of hover, as a share of full: how much of the thrust that can be commanded holds the
 * vehicle. Channels that keep one value in the window drive no motor, and are left out.
 *
 * @param outputs  columns of n readings, one a channel
 * @param scale    what idles and what is full, in the unit of the readings
 * @returns the mean over channels, and that of the highest channel; null where no channel moves
 */
export function hoverOutput(
  t: Float64Array,
  outputs: readonly Float64Array[],
  window: Window,
  scale: { readonly idle: number; readonly full: number },
): { readonly mean: number; readonly highest: number; readonly channels: number } | null {
  const means = outputs.flatMap((column) => {
    const values = column.filter((value, i) => t[i]! >= window[0] && t[i]! < window[1] && Number.isFinite(value));
    if (values.length < fewest || values.every((value) => value === values[0])) return [];
    return [(mean(values) - scale.idle) / (scale.full - scale.idle)];
  });
  if (means.length === 0) return null;
  return { mean: mean(Float64Array.from(means)), highest: Math.max(...means), channels: means.length };
}

/**
 * Root mean square of the arm's effort (a joint's torque, a servo's current) in a window: what holds and moves the arm, gravity
 * included, which counterweights take off the joint as they balance it.
 *
 * @param value  n readings of any unit and sign; those that are no number are left out
 * @returns the unit of the readings; null with fewer than five, or where half of them are no number
 */
export function rmsEffort(t: Float64Array, value: Float64Array, window: Window): number | null {
  const within = value.filter((_, i) => t[i]! >= window[0] && t[i]! < window[1]);
  const numbers = within.filter(Number.isFinite);
  if (numbers.length < Math.max(fewest, leastShare * within.length)) return null;
  return Math.sqrt(plainSumOfSquares(numbers) / numbers.length);
}

/** Why a window gives no power. */
export interface NoPower {
  readonly why: string;
}

/** a current sensor in hover that is of the other sign in more than this share of its readings shows noise, or regeneration: no hover */
const otherSign = 0.05;
/** fewest readings, and the share of a window's readings that must be numbers */
const fewest = 5;
const leastShare = 0.5;

/**
 * Mean electrical power in a window of hover, mean(V I), from readings of the battery.
 *
 * Sources differ in the sign of a current that discharges: robot messages have it negative, autopilots positive. A hovering
 * vehicle draws, so the sign that nearly all readings have is that of discharge; both signs in more than a twentieth of them
 * are no hover. NaN, exactly 0 and exactly -1 (and a voltage that is not above 0) stand in logs for "not measured" and are
 * left out; where half of the readings are such, there is no power. Products are averaged, not averages multiplied: what ripples
 * together counts. A gain error of the sensor is not seen: it cancels in the ratio of two configurations.
 *
 * @param t        n instants, seconds of the run
 * @param voltage  n readings, volts
 * @param current  n readings, amperes, of either sign
 * @param window   of hover, half open
 * @returns watts, or why there are none
 */
export function hoverPower(
  t: Float64Array,
  voltage: Float64Array,
  current: Float64Array,
  window: Window,
): HoverPower | NoPower {
  const rows: number[] = [];
  let all = 0;
  let numbers = 0;
  for (let i = 0; i < t.length; i++) {
    if (!(t[i]! >= window[0] && t[i]! < window[1])) continue;
    all++;
    if (Number.isFinite(current[i]!)) numbers++;
    const marked = !Number.isFinite(current[i]!) || current[i] === 0 || current[i] === -1;
    if (!marked && Number.isFinite(voltage[i]!) && voltage[i]! > 0) rows.push(i);
  }
  if (all < fewest) return { why: `${all} readings of the battery in the hold window, ${fewest} are needed` };
  if (numbers === 0) return { why: "no current was logged" };
  if (rows.length < Math.max(fewest, leastShare * all))
    return {
      why: `${all - rows.length} of ${all} readings are marked as not measured (NaN, 0 or -1 A, or no voltage)`,
    };
  const negative = rows.filter((i) => current[i]! < 0).length;
  const less = Math.min(negative, rows.length - negative) / rows.length;
  if (less > otherSign)
    return { why: `the current has both signs (${(100 * less).toFixed(0)} % of the readings are of the rarer one)` };
  const sign = 2 * negative > rows.length ? -1 : 1;
  const meanOf = (value: (i: number) => number): number => rows.reduce((sum, i) => sum + value(i), 0) / rows.length;
  return {
    power: meanOf((i) => sign * current[i]! * voltage[i]!),
    voltage: meanOf((i) => voltage[i]!),
    current: meanOf((i) => sign * current[i]!),
    samples: rows.length,
    leftOut: all - rows.length,
    discharge: sign < 0 ? "negative" : "positive",
  };
}
