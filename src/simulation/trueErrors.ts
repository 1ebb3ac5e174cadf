import { CounterpoiseError } from "../foundation/errors.ts";
import type { Subject } from "../foundation/tracks.ts";
import type { Seconds, Vector3 } from "../foundation/units.ts";
import { armCommand, inverse, turn } from "./attitude.ts";
import type { FlightSettings } from "./flightShape.ts";
import type { Motion } from "./motion.ts";
import { toolInVehicle, toolInWorld } from "./placement.ts";
import type { Timeline } from "./timeline.ts";

/** Error of each subject per axis, metres. */
export type SubjectErrors = Readonly<Record<Subject, readonly [Float64Array, Float64Array, Float64Array]>>;

/** The arm's command as its messages tell it: straight lines between the logged points. */
export type LoggedCommand = (time: Seconds) => Vector3;

/** Reads the command at an instant from messages a fixed interval apart, as a listener must. */
export function loggedCommand(settings: FlightSettings, timeline: Timeline, messageTimes: Float64Array): LoggedCommand {
  const { trajectory, arm } = settings;
  const first = messageTimes[0] ?? 0;
  return (time) => {
    const interval = 1 / settings.commandRate;
    const index = Math.min(Math.max(Math.floor((time - first) / interval), 0), Math.max(0, messageTimes.length - 2));
    const from = messageTimes[index] ?? time;
    const to = messageTimes[index + 1] ?? from;
    const part = to > from ? Math.min(Math.max((time - from) / (to - from), 0), 1) : 0;
    const a = armCommand(trajectory, arm.rest, timeline, from);
    const b = armCommand(trajectory, arm.rest, timeline, to);
    return [0, 1, 2].map((i) => a[i]! * (1 - part) + b[i]! * part) as unknown as Vector3;
  };
}

/**
 * True errors, without capture noise, at given instants: vehicle = body point - setpoint; effector = tool point
 * in the world - (setpoint, level with yaw 0, o arm base o command); arm = tool point - command in the vehicle frame.
 */
export function trueErrors(
  settings: FlightSettings,
  motion: Motion,
  command: LoggedCommand,
  times: Float64Array,
): SubjectErrors {
  const columns = (): [Float64Array, Float64Array, Float64Array] => [
    new Float64Array(times.length),
    new Float64Array(times.length),
    new Float64Array(times.length),
  ];
  const errors = { vehicle: columns(), effector: columns(), arm: columns() };
  for (let i = 0; i < times.length; i++) {
    const now = motion.at(times[i]!);
    const setpoint = motion.setpoint(times[i]!);
    const wanted = toolInVehicle(settings, command(times[i]!));
    const tool = toolInWorld(settings, now, now.tool);
    const lever = turn(inverse(now.attitude), [
      tool[0] - now.position[0],
      tool[1] - now.position[1],
      tool[2] - now.position[2],
    ]);
    for (let axis = 0; axis < 3; axis++) {
      errors.vehicle[axis]![i] = now.position[axis]! - setpoint[axis]!;
      errors.effector[axis]![i] = tool[axis]! - setpoint[axis]! - wanted[axis]!;
      errors.arm[axis]![i] = lever[axis]! - wanted[axis]!;
    }
  }
  return errors;
}

/** Constant and cosine and sine coefficients of harmonics 1..K of a cycle phase. */
export interface HarmonicTruth {
  readonly bias: number;
  readonly cos: readonly number[];
  readonly sin: readonly number[];
}

/**
 * Least squares of 1, cos k theta, sin k theta (k = 1..K) on each series over one window, by normal equations
 * (over whole cycles they are all but diagonal). Written apart from the evaluation's own fit, so that truth
 * does not share its faults.
 *
 * @param times   instants of the samples, seconds
 * @param series  values at those instants; all of the same length
 * @param window  from (inclusive) to (exclusive) in seconds; theta = 0 at `from`
 * @throws CounterpoiseError `too-few-samples`: fewer samples in the window than coefficients
 */
export function harmonicTruth(
  times: Float64Array,
  series: readonly Float64Array[],
  window: { readonly from: Seconds; readonly to: Seconds; readonly period: Seconds },
  harmonics = 5,
): HarmonicTruth[] {
  const size = 2 * harmonics + 1;
  const width = size + series.length;
  const table = Array.from({ length: size }, () => new Float64Array(width));
  const basis = new Float64Array(size);
  let samples = 0;
  for (let i = 0; i < times.length; i++) {
    const t = times[i]!;
    if (t < window.from || t >= window.to) continue;
    samples++;
    const theta = (2 * Math.PI * (t - window.from)) / window.period;
    basis[0] = 1;
    for (let k = 1; k <= harmonics; k++) {
      basis[2 * k - 1] = Math.cos(k * theta);
      basis[2 * k] = Math.sin(k * theta);
    }
    for (let row = 0; row < size; row++) {
      const factor = basis[row]!;
      const target = table[row]!;
      for (let column = 0; column < size; column++) target[column]! += factor * basis[column]!;
      for (let s = 0; s < series.length; s++) target[size + s]! += factor * series[s]![i]!;
    }
  }
  if (samples < size)
    throw new CounterpoiseError(
      "too-few-samples",
      `harmonicTruth found ${samples} samples in its window, expected at least ${size}`,
    );
  eliminate(table, size, width);
  return series.map((_, s) => ({
    bias: table[0]![size + s]!,
    cos: Array.from({ length: harmonics }, (_, k) => table[2 * k + 1]![size + s]!),
    sin: Array.from({ length: harmonics }, (_, k) => table[2 * k + 2]![size + s]!),
  }));
}

/** Gauss-Jordan without pivoting: the matrix is symmetric and positive definite. */
function eliminate(table: readonly Float64Array[], size: number, width: number): void {
  for (let pivot = 0; pivot < size; pivot++) {
    const row = table[pivot]!;
    const scale = 1 / row[pivot]!;
    for (let column = pivot; column < width; column++) row[column]! *= scale;
    for (let other = 0; other < size; other++) {
      if (other === pivot) continue;
      const factor = table[other]![pivot]!;
      for (let column = pivot; column < width; column++) table[other]![column]! -= factor * row[column]!;
    }
  }
}
