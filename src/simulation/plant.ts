import type { Vector3 } from "../foundation/units.ts";
import type { FlightSettings, Loop } from "./flightShape.ts";

/** Standard gravity, m/s2. */
export const gravity = 9.80665;

/** Places of the states in the plant's state vector; positions are deviations from the setpoint, metres and radians. */
export const state = { x: 0, y: 5, z: 10, yaw: 13, tool: 15, toolVelocity: 18 } as const;
export const stateCount = 21;
/** Inputs: commanded tool travel x y z (body axes, metres), force x y z (N), torque roll pitch yaw (N m). */
export const inputCount = 9;

/** A linear system d(state)/dt = a state + b input, matrices row by row. */
export interface LinearSystem {
  readonly a: Float64Array;
  readonly b: Float64Array;
  readonly states: number;
  readonly inputs: number;
}

/**
 * The vehicle under position control with its arm, linear for small angles.
 *
 * Horizontal chain: position, velocity, integral of the error, tilt, tilt rate; the position loop asks for
 * an acceleration, the attitude loop for the tilt that gives it (acceleration = g tilt). Vertical chain: position, velocity,
 * integral; yaw: angle and rate. The arm's servo is of second order per axis.
 *
 * The arm acts through masses and motion only, with m its moving mass times `massFraction` and s the tool's travel.
 * Momentum: only outer forces move the common centre of mass, so the body is pushed by -m (1 - balance) s''. Angular
 * momentum: the forces -m s'' of the arm and +m balance s'' of the counterweights act at their own levers. Gravity: the
 * shifted first moment m (1 - balance) s pulls about roll and pitch. Drag, off by default, slows the body in proportion to its speed. Counterweights also add mass and inertia, which the
 * controller, tuned for the bare vehicle, does not know.
 *
 * Left out, so that the answer stays linear: limits of thrust and moment, motor lag, thrust falling with the battery, products of small angles, the constant moment of the arm at rest (trimmed).
 */
export function plant(settings: FlightSettings): LinearSystem {
  const n = stateCount;
  const m = inputCount;
  const a = new Float64Array(n * n);
  const b = new Float64Array(n * m);
  const { arm, vehicle, balance } = settings;
  const weights = counterweightFacts(settings);
  const mass = vehicle.mass + weights.mass;
  const inertia = weights.inertia.map((added, i) => vehicle.inertia[i]! + added) as unknown as Vector3;
  const moment = arm.movingMass * arm.massFraction;

  horizontal(state.x, 1, vehicle.inertia[1] / inertia[1]);
  horizontal(state.y, -1, vehicle.inertia[0] / inertia[0]);
  const lift = gains(vehicle.verticalLoop);
  const heavier = vehicle.mass / mass;
  a[state.z * n + state.z + 1] = 1;
  a[(state.z + 1) * n + state.z] = -lift.proportional * heavier;
  a[(state.z + 1) * n + state.z + 1] = -lift.rate * heavier;
  a[(state.z + 1) * n + state.z + 2] = -lift.integral * heavier;
  a[(state.z + 2) * n + state.z] = 1;
  for (const first of [state.x, state.y, state.z]) a[(first + 1) * n + first + 1]! -= vehicle.drag;
  const turn = gains(vehicle.yawLoop);
  const slower = vehicle.inertia[2] / inertia[2];
  a[state.yaw * n + state.yaw + 1] = 1;
  a[(state.yaw + 1) * n + state.yaw] = -turn.proportional * slower;
  a[(state.yaw + 1) * n + state.yaw + 1] = -turn.rate * slower;

  const servo = gains({ frequency: arm.servoFrequency, damping: arm.servoDamping, integral: 0 });
  for (let i = 0; i < 3; i++) {
    a[(state.tool + i) * n + state.toolVelocity + i] = 1;
    const row = state.toolVelocity + i;
    a[row * n + state.tool + i] = -servo.proportional;
    a[row * n + state.toolVelocity + i] = -servo.rate;
    b[row * m + i] = servo.proportional;
  }

  const velocityRows = [state.x + 1, state.y + 1, state.z + 1];
  const rateRows = [state.y + 4, state.x + 4, state.yaw + 1];
  for (let i = 0; i < 3; i++) {
    b[velocityRows[i]! * m + 3 + i] = 1 / mass;
    b[rateRows[i]! * m + 6 + i] = 1 / inertia[i]!;
    // force of the arm's acceleration along axis i on the body, and its torque at the levers of arm and counterweights
    const unbalanced = moment * (1 - balance[i]!);
    addAcceleration(velocityRows[i]!, i, -unbalanced / mass);
    const unit: Vector3 = [i === 0 ? 1 : 0, i === 1 ? 1 : 0, i === 2 ? 1 : 0];
    const ofArm = cross(arm.centre, unit);
    const ofWeights = cross(weights.centre, unit);
    for (let j = 0; j < 3; j++)
      addAcceleration(rateRows[j]!, i, (-moment * (ofArm[j]! - balance[i]! * ofWeights[j]!)) / inertia[j]!);
  }
  // weight of the shifted first moment: s x (0, 0, -m g)
  a[rateRows[0]! * n + state.tool + 1]! += (-moment * (1 - balance[1]) * gravity) / inertia[0];
  a[rateRows[1]! * n + state.tool]! += (moment * (1 - balance[0]) * gravity) / inertia[1];
  return { a, b, states: n, inputs: m };

  function horizontal(first: number, sign: number, slowerTilt: number): void {
    const position = gains(vehicle.horizontalLoop);
    const tilt = gains(vehicle.attitudeLoop);
    const rate = first + 4;
    a[first * n + first + 1] = 1;
    a[(first + 1) * n + first + 3] = sign * gravity;
    a[(first + 2) * n + first] = 1;
    a[(first + 3) * n + rate] = 1;
    const wanted = (-sign * tilt.proportional * slowerTilt) / gravity;
    a[rate * n + first] = wanted * position.proportional;
    a[rate * n + first + 1] = wanted * position.rate;
    a[rate * n + first + 2] = wanted * position.integral;
    a[rate * n + first + 3] = -tilt.proportional * slowerTilt;
    a[rate * n + rate] = -tilt.rate * slowerTilt;
  }

  /** row += factor * acceleration of the tool along axis i, which the servo states and the command give */
  function addAcceleration(row: number, i: number, factor: number): void {
    a[row * n + state.tool + i]! -= factor * servo.proportional;
    a[row * n + state.toolVelocity + i]! -= factor * servo.rate;
    b[row * m + i]! += factor * servo.proportional;
  }
}

/** Total mass, mass centre at rest and inertia about the body axes of the counterweights. */
export function counterweightFacts(settings: Pick<FlightSettings, "counterweights">): {
  readonly mass: number;
  readonly centre: Vector3;
  readonly inertia: Vector3;
} {
  let mass = 0;
  const centre = [0, 0, 0];
  const inertia = [0, 0, 0];
  for (const weight of settings.counterweights) {
    const [x, y, z] = weight.at;
    mass += weight.mass;
    for (let i = 0; i < 3; i++) centre[i]! += weight.mass * weight.at[i]!;
    inertia[0]! += weight.mass * (y * y + z * z);
    inertia[1]! += weight.mass * (x * x + z * z);
    inertia[2]! += weight.mass * (x * x + y * y);
  }
  const scale = mass > 0 ? 1 / mass : 0;
  return {
    mass,
    centre: [centre[0]! * scale, centre[1]! * scale, centre[2]! * scale],
    inertia: [inertia[0]!, inertia[1]!, inertia[2]!],
  };
}

function gains(loop: Loop): { proportional: number; rate: number; integral: number } {
  const omega = 2 * Math.PI * loop.frequency;
  return { proportional: omega * omega, rate: 2 * loop.damping * omega, integral: omega * omega * loop.integral };
}

function cross(a: Vector3, b: Vector3): Vector3 {
  return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
}
