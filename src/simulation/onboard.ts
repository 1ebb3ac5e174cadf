import type { SignalName } from "../foundation/tracks.ts";
import type { Seconds } from "../foundation/units.ts";
import { armCommand, quaternionOfVector, randomStream, turnedBy } from "./attitude.ts";
import type { Draft } from "./draft.ts";
import type { FlightSettings } from "./flightShape.ts";
import type { Motion } from "./motion.ts";
import { onboardStamps, receiptTimes, samplingTimes, type Timeline } from "./timeline.ts";

/** What the vehicle itself logs: setpoint, arm command, gyro, battery and, where asked for, its estimate. */
export function onboardSignals(settings: FlightSettings, timeline: Timeline, seed: number, motion: Motion): Draft[] {
  const make = (
    signal: SignalName,
    type: string,
    frameId: string,
    rate: number,
    names: readonly string[],
    values: (time: Seconds) => readonly number[],
  ): Draft => {
    const time = samplingTimes(rate, timeline.end, randomStream(seed, `sampling ${signal}`));
    const columns = names.map(() => new Float64Array(time.length));
    for (let i = 0; i < time.length; i++) {
      const row = values(time[i]!);
      for (let k = 0; k < row.length; k++) columns[k]![i] = row[k]!;
    }
    const random = randomStream(seed, `receipt ${signal}`);
    return {
      signal,
      topic: settings.topics[signal],
      type,
      frameId,
      time,
      received: receiptTimes(time, settings.receipt.onboard, settings.receipt.jitter, random),
      stamped: onboardStamps(settings.start, time),
      columns: Object.fromEntries(names.map((name, k) => [name, columns[k]!])),
    };
  };
  const pose = ["x", "y", "z", "qx", "qy", "qz", "qw"];
  const gyro = randomStream(seed, "gyro");
  const { noise, bias } = settings.gyro;
  const drafts = [
    make("vehicle_setpoint", "geometry_msgs/PoseStamped", "world", settings.setpointRate, pose, (time) => [
      ...motion.setpoint(time),
      0,
      0,
      0,
      1,
    ]),
    make("effector_command", "geometry_msgs/PointStamped", "arm_base", settings.commandRate, ["x", "y", "z"], (time) =>
      armCommand(settings.trajectory, settings.arm.rest, timeline, time),
    ),
    make("vehicle_rate", "sensor_msgs/Imu", "body", settings.gyro.rate, ["wx", "wy", "wz"], (time) =>
      motion.at(time).rate.map((rate, axis) => rate + bias[axis]! + noise * gyro.normal()),
    ),
    make(
      "battery",
      "sensor_msgs/BatteryState",
      "",
      settings.batteryRate,
      ["voltage", "current", "percentage"],
      batteryAt(settings, timeline, seed),
    ),
  ];
  const { estimate } = settings;
  if (estimate !== null) {
    const random = randomStream(seed, "estimate");
    const draw = (sd: number): number => sd * random.normal();
    drafts.push(
      make("vehicle_estimate", "geometry_msgs/PoseStamped", "world", estimate.rate, pose, (time) => {
        const now = motion.believed(Math.max(0, time - estimate.delay));
        const wrong = quaternionOfVector([
          draw(estimate.attitudeNoise),
          draw(estimate.attitudeNoise),
          draw(estimate.attitudeNoise),
        ]);
        return [...now.position.map((value) => value + draw(estimate.positionNoise)), ...turnedBy(now.attitude, wrong)];
      }),
    );
  }
  return drafts;
}

/** Six cells in series: the charge falls with the power that the mass asks for, the voltage with charge and current. */
function batteryAt(settings: FlightSettings, timeline: Timeline, seed: number): (time: Seconds) => readonly number[] {
  const random = randomStream(seed, "battery");
  const mass = settings.vehicle.mass + settings.counterweights.reduce((sum, weight) => sum + weight.mass, 0);
  // induced power goes with mass^1.5 (momentum theory); 32 A hold 4.6 kg
  const hover = 32 * (mass / 4.6) ** 1.5;
  const capacity = 8 * 3600;
  const charge = 0.9 + 0.06 * random.uniform();
  const cells = 6;
  const resistance = 0.018;
  return (time) => {
    const flying = time >= timeline.climb[0] && timeline.climb[1] > 0 ? 1 : timeline.climb[1] > 0 ? 0.05 : 1;
    const current = hover * flying + 0.8 * random.normal();
    const left = charge - (hover * time) / capacity;
    const voltage = cells * (3.55 + 0.62 * left) - resistance * current + 0.01 * random.normal();
    return [voltage, -current, left];
  };
}
