import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import { axes, type PointTrack } from "../foundation/tracks.ts";
import { median, sampleStandardDeviation } from "../numeric/descriptive.ts";
import { apartOf } from "./clock/clockWitness.ts";
import { sightOfPosition } from "./clock/motionSight.ts";
import { type CommandTrack, messagesOf } from "./commandTrack.ts";
import { samplePoints } from "./sampleTrack.ts";

/** Smoothing of the velocities that are set against each other, sd, seconds: a vehicle turns its path about below some 1 Hz. */
const pathSmoothing = 0.1;
/** A setpoint that the vehicle follows is ahead of it; one that was measured may be as old as an estimator's filter makes it, seconds. */
const oldest = 0.3;
/** What a hover shows of its motion beneath an estimate's noise, 0 to 1: no clock is found by it, only whose motion it is. */
const agreed = 0.5;

/**
 * `measured-command`: a setpoint that is itself a measurement of the vehicle: an estimate, or the capture, read in its place. The
 * errors are then noise, and their differences nothing.
 *
 * Two marks together. What was commanded comes from arithmetic: from message to message it is smooth, or rests, or lies on the
 * grid of its decimals, while a measurement is rough on every message. And a vehicle follows its command some tenths of a second
 * late, seldom without any delay, and no command comes after the motion that follows it; or, whatever the delay, it follows so well
 * that nothing is left but the roughness of both, while air and arm move any vehicle by more.
 *
 * @param setpoint  on the run's clock
 * @param vehicle   the captured point, on the run's clock
 * @param interval  median interval of the capture, seconds
 */
export function measuredCommand(
  setpoint: CommandTrack,
  vehicle: PointTrack,
  interval: number,
  settings: Settings,
): Check[] {
  const messages = messagesOf(setpoint);
  const roughness = axes.map((axis) => roughnessOf(messages[axis]));
  if (roughness.filter((rough) => rough > settings.command_rough).length < 2) return [];
  const seen = sightOfPosition(vehicle, 3.5 * interval);
  const said = sightOfPosition(setpoint, 3.5 * setpoint.interval);
  const slow = { ...settings, clock_smoothing: pathSmoothing };
  const found = apartOf([seen, said], "position", ["vehicle_pose", "vehicle_setpoint"], oldest, slow, agreed);
  if (found === null) return [];
  const { apart, standardError } = found;
  const least = Math.min(Math.max(settings.command_least_delay, 3 * standardError), 0.5 * settings.command_response);
  const left = leftAt(apart, setpoint, vehicle);
  const noise = Math.hypot(...roughness, ...axes.map((axis) => roughnessOf(vehicle[axis]))) / ofNoise;
  const same = left < settings.command_same * noise;
  if (!(apart < least) && !same) return [];
  const rough = median(Float64Array.from(roughness));
  const milliseconds = (seconds: number): string => (1e3 * seconds).toFixed(1);
  const when = apart < 0 ? `${milliseconds(-apart)} ms before it` : `${milliseconds(apart)} ms after it`;
  const how = same ? `, all but ${(1e3 * left).toFixed(2)} mm of it, which is noise` : "";
  return [
    {
      code: "measured-command",
      severity: "doubt",
      message: `the setpoint looks measured, not commanded: from message to message it is rough by ${(1e3 * rough).toFixed(2)} mm, and the vehicle makes the same motion ${when}${how}`,
      evidence: { signal: "vehicle_setpoint", rough_m: rough, left_m: left, apart_s: apart, apart_se_s: standardError },
      hint: "look whether vehicle_setpoint is read from an estimate or from the capture: its topic or columns have to be what the vehicle was commanded",
    },
  ];
}

/** The median third difference of white noise of one standard deviation: 0.6745 times the root of 20. */
const ofNoise = 0.6745 * Math.sqrt(20);

/** What is left of the vehicle's motion (sd, length over axes) after the setpoint `delay` earlier, metres. */
function leftAt(delay: number, setpoint: CommandTrack, vehicle: PointTrack): number {
  const asked = samplePoints(setpoint, vehicle.t, -delay);
  return Math.hypot(
    ...axes.map((axis) =>
      sampleStandardDeviation(vehicle[axis].map((at, i) => at - asked[axis][i]!).filter(Number.isFinite)),
    ),
  );
}

/** Messages looked at, from the middle of the record. */
const looked = 4000;

/**
 * Median third difference of a command, metres: what no smooth motion explains. 0 where it rests or is smooth (over twice as long
 * a step its third differences are then some eight times as large, those of noise as large again), and where it lies on the grid
 * of its decimals.
 */
export function roughnessOf(column: Float64Array): number {
  const from = Math.max(0, Math.floor((column.length - looked) / 2));
  const values = column.subarray(from, from + looked).filter(Number.isFinite);
  if (values.length < 50) return 0;
  const rough = median(thirdDifferences(values, 1));
  if (!(rough > 0) || median(thirdDifferences(values, 2)) > 4 * rough) return 0;
  return rough > 4 * gridOf(values) ? rough : 0;
}

function thirdDifferences(values: Float64Array, step: number): Float64Array {
  const n = values.length - 3 * step;
  return Float64Array.from({ length: n }, (_, i) =>
    Math.abs(values[i + 3 * step]! - values[i]! - 3 * (values[i + 2 * step]! - values[i + step]!)),
  );
}

/** Fewest places that a rounded path goes through, and most steps of its grid from one message to the next. */
const fewestPlaces = 10;
const mostSteps = 5;

/**
 * The decimal step to which a moving command was rounded, metres: it goes through many places, all on one grid, a few steps of it
 * from one to the next. 0 where it rests, is not rounded, or goes from waypoint to waypoint, which may well be whole decimetres.
 */
export function roundingOf(column: Float64Array): number {
  const values = column.filter(Number.isFinite);
  const grid = gridOf(values);
  const changes = values
    .map((value, i) => Math.abs(value - values[Math.max(0, i - 1)]!))
    .filter((change) => change > 0.5 * grid);
  const places = new Set(values.map((value) => Math.round(value / grid))).size;
  const isPath = grid > 0 && places >= fewestPlaces && median(changes) < mostSteps * grid;
  return isPath ? grid : 0;
}

/** The coarsest decimal step, from a metre to 10 micrometres, of which all values are multiples; 0 where none is. */
function gridOf(values: Float64Array): number {
  for (let decimals = 0; decimals <= 5; decimals++) {
    const steps = 10 ** decimals;
    // a number kept in single precision is off by 6e-8 of itself
    const isOn = (value: number): boolean =>
      Math.abs(value * steps - Math.round(value * steps)) < 1e-4 + 1e-7 * Math.abs(value * steps);
    if (values.every(isOn)) return 1 / steps;
  }
  return 0;
}
