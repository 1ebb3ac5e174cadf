import type { FlightChanges, FlightSettings } from "./flightShape.ts";

/** A hexacopter of 4.6 kg with a swab arm that draws a circle on a tank wall, no counterweights, moderate air. */
export const defaultFlight: FlightSettings = {
  start: 1_760_432_400_000_000_000n,
  timeline: { hold: 17, pause: 1, rest: 2, takeOff: false },
  setpoint: [0.4, -0.2, 1.5],
  trajectory: { shape: "circle", plane: "yz", radius: 0.06, speed: 0.25, cycles: 12, rampIn: 0 },
  vehicle: {
    mass: 4.6,
    inertia: [0.11, 0.12, 0.19],
    horizontalLoop: { frequency: 1.0, damping: 0.7, integral: 0.5 },
    verticalLoop: { frequency: 1.2, damping: 0.8, integral: 0.5 },
    attitudeLoop: { frequency: 5, damping: 0.8, integral: 0 },
    yawLoop: { frequency: 1, damping: 0.8, integral: 0 },
    drag: 0,
  },
  arm: {
    movingMass: 0.7,
    massFraction: 0.8,
    centre: [0.1, 0, -0.2],
    rest: [0.14, 0, -0.16],
    servoFrequency: 6,
    servoDamping: 0.85,
    transportDelay: 0.02,
    gain: [0.99, 0.985, 0.99],
    curvature: 0.05,
  },
  counterweights: [],
  balance: [0, 0, 0],
  air: { force: [0.3, 0.3, 0.3], forceTime: 0.8, torque: [0.06, 0.06, 0.02], torqueTime: 0.15 },
  drift: { bias: [0, 0, 0], slope: [0, 0, 0], wander: 0 },
  capture: { rate: 100, positionNoise: [0.0002, 0.0002, 0.0002], attitudeNoise: 0.0007 },
  gyro: { rate: 200, noise: 0.002, bias: [0.004, -0.003, 0.002] },
  setpointRate: 50,
  commandRate: 50,
  batteryRate: 2,
  estimate: null,
  clock: { offset: -0.137, skew: 20e-6, boot: 0n },
  receipt: { onboard: 0.0015, capture: 0.006, jitter: 0.0008 },
  frames: {
    toolPoint: [0, 0, -0.045],
    bodyPoint: [0, 0, 0],
    armBase: { translation: [0.06, 0, -0.12], rotation: [0, 0, 0] },
    onboard: { translation: [0, 0, 0], rotation: [0, 0, 0] },
    worldUp: "z",
    bodyUp: "z",
  },
  between: { gain: 0.04, air: 0.1, arm: 0.04, bias: 0.002, slope: 0.00005 },
  topics: {
    vehicle_pose: "/mocap/airframe",
    effector_pose: "/mocap/tool",
    vehicle_setpoint: "/onboard/hold_point",
    effector_command: "/arm/goal",
    arm_phase: "/arm/joints",
    vehicle_rate: "/imu",
    vehicle_estimate: "/onboard/state",
    battery: "/battery",
    motors: "/motors",
    arm_effort: "/arm/effort",
  },
  faults: [],
};

/**
 * The default flight with some settings changed; groups are merged one level deep, lists and trajectories replaced.
 *
 * @example flightSettings({ air: { forceTime: 2 }, clock: { offset: 0.05 } })
 */
export function flightSettings(changes: FlightChanges = {}, base: FlightSettings = defaultFlight): FlightSettings {
  const merged: Record<string, unknown> = { ...base };
  for (const [key, value] of Object.entries(changes)) {
    const before = merged[key];
    const group =
      key !== "trajectory" && typeof value === "object" && value !== null && before !== null && !Array.isArray(value);
    merged[key] = group ? { ...(before as object), ...value } : value;
  }
  return merged as unknown as FlightSettings;
}
