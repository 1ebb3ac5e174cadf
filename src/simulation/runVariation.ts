import type { Vector3 } from "../foundation/units.ts";
import type { FlightSettings, Loop } from "./flightShape.ts";
import { randomStream } from "./randomStream.ts";

/**
 * The settings of one run: loop gains, air, the arm's moving mass, standing bias and drift vary from run to run
 * (`between`), because packs, tuning, hoses and doors do. What is drawn here is known truth afterwards.
 */
export function varyRun(settings: FlightSettings, seed: number): FlightSettings {
  const random = randomStream(seed, "between runs");
  const { between, vehicle, arm, air, drift } = settings;
  const factor = (sd: number): number => Math.exp(sd * random.normal());
  const spread = (sd: number): Vector3 => [sd * random.normal(), sd * random.normal(), sd * random.normal()];
  // a gain is the square of a loop's frequency
  const tuned = (loop: Loop): Loop => ({ ...loop, frequency: loop.frequency * Math.sqrt(factor(between.gain)) });
  const airFactors: Vector3 = [factor(between.air), factor(between.air), factor(between.air)];
  return {
    ...settings,
    vehicle: {
      ...vehicle,
      horizontalLoop: tuned(vehicle.horizontalLoop),
      verticalLoop: tuned(vehicle.verticalLoop),
      attitudeLoop: tuned(vehicle.attitudeLoop),
      yawLoop: tuned(vehicle.yawLoop),
    },
    arm: { ...arm, movingMass: arm.movingMass * factor(between.arm) },
    air: { ...air, force: times(air.force, airFactors), torque: times(air.torque, airFactors) },
    drift: {
      ...drift,
      bias: plus(drift.bias, spread(between.bias)),
      slope: plus(drift.slope, spread(between.slope)),
    },
  };
}

function times(a: Vector3, b: Vector3): Vector3 {
  return [a[0] * b[0], a[1] * b[1], a[2] * b[2]];
}

function plus(a: Vector3, b: Vector3): Vector3 {
  return [a[0] + b[0], a[1] + b[1], a[2] + b[2]];
}
