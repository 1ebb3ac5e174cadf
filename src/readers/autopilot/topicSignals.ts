import type { SignalName } from "../../foundation/tracks.ts";

/** How a topic of the PX4 autopilot serves a signal, in a ULog or as a px4_msgs message. */
export interface TopicSignal {
  /** column -> the field's names, newest layout first; a column whose name ends in "?" may be absent */
  readonly fields: Readonly<Record<string, readonly string[]>>;
  /** commands: NaN means that this is not controlled */
  readonly masked: boolean;
  /** column -> whether a value says "unknown" */
  readonly unknown: Readonly<Record<string, (value: number) => boolean>>;
}

const position = { x: ["position[0]", "x"], y: ["position[1]", "y"], z: ["position[2]", "z"] };
/** scalar first */
const attitude = { "qw?": ["q[0]"], "qx?": ["q[1]"], "qy?": ["q[2]"], "qz?": ["q[3]"] };

function measured(fields: Readonly<Record<string, readonly string[]>>): TopicSignal {
  return { fields, masked: false, unknown: {} };
}

const poses: Readonly<Record<string, TopicSignal>> = {
  vehicle_local_position: measured(position),
  vehicle_local_position_groundtruth: measured(position),
  vehicle_odometry: measured({ ...position, ...attitude }),
  vehicle_visual_odometry: measured({ ...position, ...attitude }),
  vehicle_mocap_odometry: measured({ ...position, ...attitude }),
  vehicle_vision_odometry: measured({ ...position, ...attitude }),
  vehicle_vision_position: measured({ ...position, ...attitude }),
  att_pos_mocap: measured({ ...position, ...attitude }),
};

const commands: Readonly<Record<string, TopicSignal>> = Object.fromEntries(
  ["trajectory_setpoint", "vehicle_local_position_setpoint"].map((topic) => [
    topic,
    { fields: { ...position, yaw: ["yaw"] }, masked: true, unknown: {} },
  ]),
);

const rates: Readonly<Record<string, TopicSignal>> = {
  vehicle_angular_velocity: measured({ wx: ["xyz[0]"], wy: ["xyz[1]"], wz: ["xyz[2]"] }),
  sensor_combined: measured({ wx: ["gyro_rad[0]"], wy: ["gyro_rad[1]"], wz: ["gyro_rad[2]"] }),
  sensor_gyro: measured({ wx: ["x"], wy: ["y"], wz: ["z"] }),
};

const battery: TopicSignal = {
  fields: {
    voltage: ["voltage_v"],
    "current?": ["current_a"],
    "percentage?": ["remaining"],
    "cells?": ["cell_count"],
  },
  masked: false,
  unknown: {
    voltage: (value) => value === 0,
    current: (value) => value === -1,
    percentage: (value) => value < 0,
    cells: (value) => value === 0,
  },
};

const channels = (name: string, count: number): TopicSignal =>
  measured(Object.fromEntries(Array.from({ length: count }, (_, k) => [k === 0 ? "m0" : `m${k}?`, [`${name}[${k}]`]])));

const bySignal: Readonly<Record<SignalName, Readonly<Record<string, TopicSignal>>>> = {
  vehicle_pose: poses,
  effector_pose: poses,
  // an attitude alone shows the motion that joins two clocks
  vehicle_estimate: {
    ...poses,
    vehicle_attitude: measured({ qw: ["q[0]"], qx: ["q[1]"], qy: ["q[2]"], qz: ["q[3]"] }),
  },
  vehicle_setpoint: commands,
  effector_command: commands,
  // no topic of an autopilot is an arm's by itself: `fields` says which servo drives it
  arm_phase: {},
  vehicle_rate: rates,
  battery: { battery_status: battery },
  motors: { actuator_motors: channels("control", 12), actuator_outputs: channels("output", 16) },
  // nor its effort
  arm_effort: {},
};

/**
 * How a topic serves a signal; null where it cannot. Values stay in the log's own axes (north, east, down; forward, right,
 * down): what turns them is declared in the manifest.
 *
 * @param topic  its name without the instance: "vehicle_odometry"
 * @source PX4 message definitions, versions 1.4 to 1.15; names of older layouts stand second
 */
export function topicSignal(signal: SignalName, topic: string): TopicSignal | null {
  return Object.hasOwn(bySignal[signal], topic) ? bySignal[signal][topic]! : null;
}

/** Topics that can serve a signal. */
export function topicsForSignal(signal: SignalName): string[] {
  return Object.keys(bySignal[signal]);
}

/** Signals a topic could serve as, best guess first. */
export function signalsOfTopic(topic: string): SignalName[] {
  if (/visual|vision|mocap/.test(topic)) return ["vehicle_pose", "effector_pose", "vehicle_estimate"];
  if (topic === "vehicle_attitude") return ["vehicle_estimate"];
  if (Object.hasOwn(poses, topic)) return ["vehicle_estimate", "vehicle_pose", "effector_pose"];
  if (Object.hasOwn(commands, topic)) return ["vehicle_setpoint", "effector_command"];
  if (Object.hasOwn(rates, topic)) return ["vehicle_rate"];
  if (topic === "battery_status") return ["battery"];
  return Object.hasOwn(bySignal.motors, topic) ? ["motors"] : [];
}
