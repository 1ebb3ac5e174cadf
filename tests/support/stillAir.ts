import type { FlightChanges } from "../../src/simulation/flightShape.ts";

/** Everything random switched off: the arm alone moves the vehicle, and it is captured without noise. */
export const stillAir: FlightChanges = {
  air: { force: [0, 0, 0], torque: [0, 0, 0] },
  drift: { bias: [0, 0, 0], slope: [0, 0, 0], wander: 0 },
  capture: { positionNoise: [0, 0, 0], attitudeNoise: 0 },
  gyro: { noise: 0, bias: [0, 0, 0] },
  between: { gain: 0, air: 0, arm: 0, bias: 0, slope: 0 },
};
