import type { Quaternion, Seconds, Vector3 } from "../foundation/units.ts";
import type { SeededRandom } from "../numeric/seededRandom.ts";
import { armCommand, bodyRate, inverse, quaternionOfAngles, randomStream, turn } from "./attitude.ts";
import type { FlightSettings } from "./flightShape.ts";
import { inputCount, plant, state, stateCount } from "./plant.ts";
import { discretize, propagate } from "./propagate.ts";
import type { Timeline } from "./timeline.ts";

/** Simulation step. Exact for inputs straight between steps, so it need only resolve command and air. */
export const step: Seconds = 1 / 250;
/** The air acts this long before the recording starts, so that the flight starts in its steady spread. */
const warmUp: Seconds = 8;

/** True motion at one instant, onboard world (z up) and body frame. */
export interface Instant {
  /** body point, metres */
  readonly position: Vector3;
  readonly attitude: Quaternion;
  /** tool point in the arm-base frame, metres */
  readonly tool: Vector3;
  /** body rate, rad/s, body axes */
  readonly rate: Vector3;
}

/** The true motion of one flight, to be asked at any instant of it (seconds after the recording's start). */
export interface Motion {
  at(time: Seconds): Instant;
  /** the same without what the position reference's drift adds: what the vehicle believes */
  believed(time: Seconds): Instant;
  /** where the vehicle is told to be */
  setpoint(time: Seconds): Vector3;
}

/**
 * Flies the settings. The plant is linear, so the answers to the arm and to the air are computed apart and added.
 *
 * @returns `twin`: the deterministic twin, moved by its arm alone and without drift; `full`: the twin with air and drift on top
 */
export function fly(
  settings: FlightSettings,
  timeline: Timeline,
  seed: number,
): { readonly full: Motion; readonly twin: Motion } {
  const stepper = discretize(plant(settings), step);
  const count = Math.ceil(timeline.end / step) + 3;
  const skip = Math.round(warmUp / step);
  const byArm = propagate(stepper, commandInputs(settings, timeline, count), { count });
  const all = propagate(stepper, airInputs(settings, seed, count + skip), { count, skip, onto: byArm });
  return {
    twin: motionOf(settings, timeline, byArm, null),
    full: motionOf(settings, timeline, all, driftOf(settings, seed, count)),
  };
}

/** Tool travel asked of the servo, body axes: late by the transport delay, with the gain and curvature of its calibration. */
function commandInputs(settings: FlightSettings, timeline: Timeline, count: number): (Float64Array | null)[] {
  const { arm, trajectory, frames } = settings;
  const turned = quaternionOfAngles(...frames.armBase.rotation);
  const first = armCommand(trajectory, arm.rest, timeline, Number.NEGATIVE_INFINITY);
  const travel = [0, 1, 2].map(() => new Float64Array(count));
  for (let i = 0; i < count; i++) {
    const point = armCommand(trajectory, arm.rest, timeline, i * step - arm.transportDelay);
    const given = point.map((value, axis) => {
      const asked = value - first[axis]!;
      return arm.gain[axis]! * asked + arm.curvature * asked * asked;
    });
    const body = turn(turned, [given[0]!, given[1]!, given[2]!]);
    for (let axis = 0; axis < 3; axis++) travel[axis]![i] = body[axis]!;
  }
  return [...travel, ...Array.from({ length: inputCount - 3 }, () => null)];
}

function airInputs(settings: FlightSettings, seed: number, count: number): (Float64Array | null)[] {
  const { air } = settings;
  const process = (sd: number, time: number, name: string): Float64Array | null =>
    sd === 0 ? null : gaussMarkov(randomStream(seed, `air ${name}`), sd, time, step, count);
  return [
    null,
    null,
    null,
    ...air.force.map((sd, axis) => process(sd, air.forceTime, `force ${axis}`)),
    ...air.torque.map((sd, axis) => process(sd, air.torqueTime, `torque ${axis}`)),
  ];
}

/** What the position reference adds to the vehicle's true position at an instant, metres along one axis. */
type Drift = (time: Seconds, axis: number) => number;

/** Bias, slope and wander of the position reference; the wander is a walk whose rate is smoothed over 2 s. */
function driftOf(settings: FlightSettings, seed: number, count: number): Drift | null {
  const { bias, slope, wander } = settings.drift;
  if (wander === 0) {
    if ([...bias, ...slope].every((value) => value === 0)) return null;
    return (time, axis) => bias[axis]! + slope[axis]! * time;
  }
  const smoothing = 2;
  const walks = [0, 1, 2].map((axis) => {
    // spectral density of the rate at low frequency is sd^2 2 smoothing = wander^2
    const sd = wander / Math.sqrt(2 * smoothing);
    const rate = gaussMarkov(randomStream(seed, `wander ${axis}`), sd, smoothing, step, count);
    const walk = new Float64Array(count);
    for (let i = 1; i < count; i++) walk[i] = walk[i - 1]! + rate[i - 1]! * step;
    return walk;
  });
  return (time, axis) => {
    const index = Math.min(Math.max(Math.floor(time / step), 0), count - 2);
    const part = time / step - index;
    const walk = walks[axis]!;
    return bias[axis]! + slope[axis]! * time + walk[index]! * (1 - part) + walk[index + 1]! * part;
  };
}

function motionOf(settings: FlightSettings, timeline: Timeline, states: Float64Array, drift: Drift | null): Motion {
  const { arm, trajectory, frames } = settings;
  const back = inverse(quaternionOfAngles(...frames.armBase.rotation));
  const rest = armCommand(trajectory, arm.rest, timeline, Number.NEGATIVE_INFINITY);
  const last = states.length / stateCount - 2;
  const setpoint = (time: Seconds): Vector3 => {
    const [x, y, height] = settings.setpoint;
    return [x, y, height * climbed(timeline, time).part];
  };
  const instant = (time: Seconds, drift: Drift | null): Instant => {
    const index = Math.min(Math.max(Math.floor(time / step), 0), last);
    const part = time / step - index;
    const smooth = (place: number, rate: number): number => between(states, index, part, place, rate);
    const smoothRate = (place: number, rate: number): number => rateBetween(states, index, part, place, rate);
    const from = setpoint(time);
    // on the ground nothing moves; while climbing the disturbances fade in
    const { part: air, rate: airRate } = climbed(timeline, time);
    const off: [number, number, number] = [
      smooth(state.x, state.x + 1),
      smooth(state.y, state.y + 1),
      smooth(state.z, state.z + 1),
    ];
    if (drift !== null) for (let i = 0; i < 3; i++) off[i]! += drift(time, i);
    const roll = smooth(state.y + 3, state.y + 4);
    const pitch = smooth(state.x + 3, state.x + 4);
    const yaw = smooth(state.yaw, state.yaw + 1);
    const moved = turn(back, [
      smooth(state.tool, state.toolVelocity),
      smooth(state.tool + 1, state.toolVelocity + 1),
      smooth(state.tool + 2, state.toolVelocity + 2),
    ]);
    return {
      position: [from[0] + air * off[0], from[1] + air * off[1], from[2] + air * off[2]],
      attitude: quaternionOfAngles(air * roll, air * pitch, air * yaw),
      tool: [rest[0] + moved[0], rest[1] + moved[1], rest[2] + moved[2]],
      rate: bodyRate(
        air * roll,
        air * pitch,
        air * smoothRate(state.y + 3, state.y + 4) + airRate * roll,
        air * smoothRate(state.x + 3, state.x + 4) + airRate * pitch,
        air * smoothRate(state.yaw, state.yaw + 1) + airRate * yaw,
      ),
    };
  };
  return { at: (time) => instant(time, drift), believed: (time) => instant(time, null), setpoint };
}

/** A state between two steps: cubic through values and derivatives of both neighbours. */
function between(states: Float64Array, index: number, part: number, place: number, rate: number): number {
  const h0 = index * stateCount;
  const h1 = h0 + stateCount;
  const a = states[h0 + place]!;
  const da = states[h0 + rate]! * step;
  const db = states[h1 + rate]! * step;
  const c = states[h1 + place]! - a;
  return a + part * (da + part * (3 * c - 2 * da - db + part * (da + db - 2 * c)));
}

/** The derivative of the same cubic, so that the gyro sees exactly the turning that the attitudes show. */
function rateBetween(states: Float64Array, index: number, part: number, place: number, rate: number): number {
  const h0 = index * stateCount;
  const h1 = h0 + stateCount;
  const da = states[h0 + rate]! * step;
  const db = states[h1 + rate]! * step;
  const c = states[h1 + place]! - states[h0 + place]!;
  return (da + part * (2 * (3 * c - 2 * da - db) + 3 * part * (da + db - 2 * c))) / step;
}

/** How far the climb has come, 0 to 1 (quintic, at rest at both ends), and its rate per second. */
function climbed(timeline: Timeline, time: Seconds): { part: number; rate: number } {
  const [start, end] = timeline.climb;
  if (end <= start || time >= end) return { part: 1, rate: 0 };
  if (time <= start) return { part: 0, rate: 0 };
  const u = (time - start) / (end - start);
  return { part: u * u * u * (10 - 15 * u + 6 * u * u), rate: (30 * u * u * (1 - u) * (1 - u)) / (end - start) };
}

/**
 * A Gauss-Markov process of first order at a fixed step, stationary from its first value:
 * autocorrelation sd^2 exp(-|lag| / time).
 *
 * @param sd    standard deviation, in the unit of the result; 0 gives zeros and draws nothing
 * @param time  correlation time, seconds, > 0
 * @source A. Gelb (ed.), Applied Optimal Estimation (1974), 3.8
 */
export function gaussMarkov(
  random: SeededRandom,
  sd: number,
  time: Seconds,
  step: Seconds,
  count: number,
): Float64Array {
  const values = new Float64Array(count);
  if (sd === 0 || count === 0) return values;
  const keep = Math.exp(-step / time);
  const fresh = sd * Math.sqrt(1 - keep * keep);
  values[0] = sd * random.normal();
  for (let i = 1; i < count; i++) values[i] = keep * values[i - 1]! + fresh * random.normal();
  return values;
}
